import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { problemSchema } from '@tapewarden/shared'
import { startTestApi, type Reply, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

function expectProblem(reply: Reply, status: number, code: string, pointer?: string): void {
  expect(String(reply.headers['content-type'])).toContain('application/problem+json')
  const problem = problemSchema.strict().parse(reply.body)
  expect(problem).toMatchObject({ status, code })
  expect(reply.status).toBe(status)
  if (pointer !== undefined) expect(problem.errors?.map((error) => error.pointer)).toContain(pointer)
}
const warehouse = (more: object) => us.manager('POST', 'warehouses', { name: 'Hall', zone: 'Europe/Berlin', ...more })
const evidence = (more: object) =>
  us.manager('POST', 'evidence', { kind: 'strips_day', machineId: us.machineId, day: '2026-05-01', strips: 5, ...more })

describe('bad input', () => {
  it('malformed JSON', async () => {
    for (const text of ['{"name":', '{"name" "x"}', 'nonsense', '{"a":1}}', ''])
      expectProblem(await us.manager('POST', 'warehouses', text), 400, 'MALFORMED_REQUEST')
    expectProblem(await us.manager('POST', 'warehouses', '[1,2]'), 400, 'INVALID_REQUEST')
    expectProblem(await us.manager('POST', 'warehouses', 'null'), 400, 'INVALID_REQUEST')
  })
  it('no body, or one of another kind', async () => {
    expectProblem(await us.manager('POST', 'warehouses'), 400, 'INVALID_REQUEST')
    expectProblem(await us.manager('POST', 'warehouses', '<a/>', { 'content-type': 'text/xml' }), 415, 'UNKNOWN_MEDIA_TYPE')
  })
  it('a body that is too large', async () => {
    expectProblem(await us.manager('POST', 'warehouses', JSON.stringify({ name: 'x'.repeat(5_000_000) })), 413, 'BODY_TOO_LARGE')
  })
  it('unknown and malformed ids', async () => {
    expectProblem(await us.manager('GET', `machines/${newId()}`), 404, 'NOT_FOUND')
    expectProblem(await us.manager('GET', 'machines/17'), 400, 'INVALID_REQUEST', 'path/machineId')
    expectProblem(await us.manager('GET', 'machines/%00'), 400, 'INVALID_REQUEST', 'path/machineId')
    expectProblem(await us.manager('GET', 'no-such-list'), 404, 'NOT_FOUND')
    expectProblem(await us.manager('DELETE', `machines/${us.machineId}`), 404, 'NOT_FOUND')
  })
  it('an address that is too long or broken', async () => {
    expectProblem(await us.manager('GET', `machines/${'x'.repeat(5000)}`), 414, 'ADDRESS_TOO_LONG')
    expectProblem(await us.manager('GET', 'machines/%zz'), 400, 'MALFORMED_REQUEST')
  })
  it('wrong types, each named', async () => {
    expectProblem(await warehouse({ name: 7 }), 400, 'INVALID_REQUEST', '/name')
    expectProblem(
      await warehouse({ shifts: [{ weekday: 'Monday', starts: '06:00', ends: '14:00' }] }),
      400,
      'INVALID_REQUEST',
      '/shifts/0/weekday',
    )
    expectProblem(await warehouse({ shifts: [{ weekday: 8, starts: '6', ends: '25:00' }] }), 400, 'INVALID_REQUEST', '/shifts/0/starts')
    expectProblem(await warehouse({ nam: 'x' }), 400, 'INVALID_REQUEST', '/nam')
    expectProblem(await us.manager('GET', 'machines?limit=0'), 400, 'INVALID_REQUEST', 'query/limit')
    expectProblem(await us.manager('GET', 'machines?limit=ten'), 400, 'INVALID_REQUEST', 'query/limit')
    expectProblem(await us.manager('GET', 'machines?status=lost'), 400, 'INVALID_REQUEST', 'query/status/0')
    expectProblem(await us.manager('GET', 'machines?nonsense=1'), 400, 'INVALID_REQUEST', 'query/nonsense')
    for (const cursor of ['x', 'bnVsbA', 'WyJhIiwiYiJd', 'W10'])
      expectProblem(await us.manager('GET', `machines?cursor=${cursor}`), 422, 'INVALID_CURSOR', 'query/cursor')
  })
  it('a cursor whose day is none', async () => {
    const cursorOf = (...values: unknown[]): string => Buffer.from(JSON.stringify(values)).toString('base64url')
    const lists = ['occurrences', 'visits', 'evidence', 'messages', 'reminders', `machines/${us.machineId}/service-records`]
    for (const list of lists) {
      for (const day of ['soon', '2026-02-30', '2026-2-1', '20260201'])
        expectProblem(await us.manager('GET', `${list}?cursor=${cursorOf(day, newId())}`), 422, 'INVALID_CURSOR', 'query/cursor')
      expect((await us.manager('GET', `${list}?cursor=${cursorOf('2026-02-28', newId())}`)).status).toBe(200)
    }
  })
  it('text that cannot be kept', async () => {
    expectProblem(await warehouse({ name: 'a\u0000b' }), 400, 'INVALID_REQUEST', '/name')
    expectProblem(await us.manager('GET', 'machines?search=%00'), 400, 'INVALID_REQUEST', 'query/search')
    expect((await us.manager('GET', 'machines?search=%25_%5C')).status).toBe(200)
  })
  it('dates out of range', async () => {
    expectProblem(await evidence({ day: '2026-02-30' }), 400, 'INVALID_REQUEST', '/day')
    expectProblem(await evidence({ day: '9999-12-31' }), 400, 'INVALID_REQUEST', '/day')
    expectProblem(
      await us.manager('POST', `warehouses/${us.north}/closures`, { fromDate: '2026-12-25', toDate: '2026-12-24' }),
      400,
      'INVALID_REQUEST',
      '/toDate',
    )
    expectProblem(await us.manager('GET', 'review?from=2026-02-01&to=2026-01-01'), 400, 'INVALID_REQUEST', 'query/to')
    expectProblem(await us.manager('GET', `machines/${us.machineId}/usage?from=2026-02-01&to=2026-01-01`), 422, 'DATES_CROSS', 'query/from')
  })
  it('negative use, and numbers that are none', async () => {
    expectProblem(await evidence({ strips: -1 }), 400, 'INVALID_REQUEST', '/strips')
    expectProblem(await evidence({ strips: 1e300 }), 400, 'INVALID_REQUEST', '/strips')
    expectProblem(
      await us.manager('POST', 'evidence', '{"kind":"strips_day","machineId":"x","day":"2026-05-01","strips":NaN}'),
      400,
      'MALFORMED_REQUEST',
    )
    expectProblem(await evidence({ kind: 'guess' }), 400, 'INVALID_REQUEST', '/kind')
  })
  it('an unknown zone', async () => {
    for (const zone of ['Mars/Olympus', '+02:00', 'europe berlin', '', 3])
      expectProblem(await warehouse({ zone }), 400, 'INVALID_REQUEST', '/zone')
  })
  it('a counter going backwards and a reading in the future are kept, set aside, with the reason; nothing else is lost', async () => {
    const reading = (at: string, value: number) =>
      us.manager('POST', 'evidence', { kind: 'counter_reading', machineId: us.machineId, at, value })
    expect((await reading('2026-04-01T08:00:00Z', 1000)).body.outcome).toBe('counted')
    expect((await reading('2026-04-02T08:00:00Z', 900)).body).toMatchObject({ outcome: 'set_aside', code: 'RUNS_BACKWARDS' })
    expect((await reading('2026-05-09T08:00:00Z', 2000)).body).toMatchObject({ outcome: 'set_aside', code: 'IN_THE_FUTURE' })
    expect((await reading('2026-04-03T08:00:00Z', 1900)).body.outcome).toBe('counted')
  })
  it('the same mail address or name twice is a conflict', async () => {
    const person = { name: 'Twice', role: 'technician', email: 'MANAGER@north.example' }
    expectProblem(await us.administrator('POST', 'people', person), 409, 'ALREADY_THERE')
    expectProblem(
      await us.administrator('PATCH', `people/${us.people.administrator}`, { role: 'manager' }),
      422,
      'LAST_ADMINISTRATOR',
      '/role',
    )
  })
})

describe('limits and headers', () => {
  it('a page of another site cannot frame us or run scripts here', async () => {
    const { headers } = await api.anyone('GET', '/health/live')
    expect(String(headers['content-security-policy'])).toContain("script-src 'self';")
    expect(String(headers['content-security-policy'])).toContain("frame-ancestors 'none'")
    expect(headers['x-content-type-options']).toBe('nosniff')
  })
  it('too many requests are told when to come back', async () => {
    const small = await startTestApi('2026-05-04T08:00:00Z', { requestsPerMinute: 3 })
    const replies = []
    for (let n = 0; n < 5; n++) replies.push(await small.anyone('GET', 'me'))
    expect(replies.map((reply) => reply.status)).toEqual([401, 401, 401, 429, 429])
    expectProblem(replies[4] as Reply, 429, 'TOO_MANY_REQUESTS')
    expect(Number(replies[4]?.headers['retry-after'])).toBeGreaterThan(0)
    await small.close()
  })
  it('without the database: 503 with Retry-After, alive but not ready', async () => {
    const away = await startTestApi('2026-05-04T08:00:00Z')
    await away.test.drop()
    const reply = await away.anyone('GET', '/health/ready')
    expectProblem(reply, 503, 'DATABASE_AWAY')
    expect(Number(reply.headers['retry-after'])).toBeGreaterThan(0)
    expect((await away.anyone('GET', '/health/live')).status).toBe(200)
    const signIn = await away.anyone('POST', 'session', { email: 'a@b.example', password: 'whatever it is' })
    expect(signIn.status).toBe(503)
    await away.close()
  })
})

describe('the document', () => {
  it('is OpenAPI 3.1, with every route of the table, and the page reads without script', async () => {
    const { body } = await api.anyone('GET', '/openapi.json')
    expect(body.openapi).toBe('3.1.0')
    expect(Object.keys(body.paths).length).toBeGreaterThan(60)
    const nullable = body.paths['/api/v1/me'].get.responses['200'].content['application/json'].schema.properties.person.properties.email
    expect(nullable).toEqual({ anyOf: [{ type: 'string' }, { type: 'null' }] })
    for (const path of Object.values(body.paths) as Record<string, { operationId: string; parameters: { in: string; name: string }[] }>[])
      for (const operation of Object.values(path)) expect(operation.operationId).toMatch(/^[a-z][A-Za-z]+$/)
    const page = await api.anyone('GET', '/docs')
    expect(page.body).toContain('Tapewarden: interface')
    expect(page.body).not.toMatch(/<script|https?:\/\//)
  })
})
