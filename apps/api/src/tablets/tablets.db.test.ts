import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type RouteName, routes, TABLET_HEADER, TURN_HEADER, TURN_ROUTES } from '@tapewarden/shared'
import { type Ask, type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { isEasyCode } from './short-codes.js'

let api: TestApi
let us: ApiOrganisation
let tablet: Ask
let tabletId: string

const withHeader =
  (name: string, secret: string): Ask =>
  (method, path, body, headers = {}) =>
    api.anyone(method, path, body, { [name]: secret, ...headers })
const begin = (personId: string, code: string) => tablet('POST', 'this-tablet/turns', { personId, code })
const turnOf = async (personId: string, code: string): Promise<Ask> => {
  const reply = await begin(personId, code)
  expect(reply).toMatchObject({ status: 200 })
  return withHeader(TURN_HEADER, reply.body.secret)
}
const sql = (text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Json>(text, values))

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  const made = await us.manager('POST', 'tablets', { name: 'Dock 3', warehouseId: us.north })
  tabletId = made.body.tablet.id
  tablet = withHeader(TABLET_HEADER, made.body.secret)
  expect((await us.technician('PUT', 'me/short-code', { code: '2580' })).body.setAt).toBe('2026-05-04T08:00:00.000Z')
  await us.manager('PUT', 'me/short-code', { code: '70414' })
})
afterAll(() => api.close())

describe('a short code', () => {
  it.each([
    ['0000', true],
    ['1234', true],
    ['7890', true],
    ['4321', true],
    ['2525', true],
    ['1987', true],
    ['2580', false],
    ['70414', false],
  ])('%s: is one of those that are tried first: %s', (code, easy) => expect(isEasyCode(code)).toBe(easy))

  it('is refused where it is easy, and kept as a hash alone', async () => {
    expect(await us.technician('PUT', 'me/short-code', { code: '1111' })).toMatchObject({ status: 422, body: { code: 'EASY_CODE' } })
    const kept = JSON.stringify([await sql('SELECT * FROM person'), await sql('SELECT * FROM audit_entry')])
    expect(kept).toContain('$argon2id$')
    expect(kept).not.toMatch(/"2580"|"70414"/)
  })
})

describe('a shared tablet', () => {
  it('asks who is working there, and opens nothing else by itself', async () => {
    expect((await tablet('GET', 'this-tablet')).body).toMatchObject({
      name: 'Dock 3',
      warehouse: { name: 'North' },
      people: [
        { name: 'manager', hasCode: true },
        { name: 'technician', hasCode: true },
        { name: 'instructed', hasCode: false },
      ],
    })
    expect((await tablet('GET', 'work-orders')).status).toBe(401)
    expect((await api.anyone('GET', 'this-tablet', undefined, { [TABLET_HEADER]: 'made up' })).status).toBe(401)
  })

  it('lets a person work under their own name after their code', async () => {
    const turn = await turnOf(us.people.technician, '2580')
    expect((await turn('GET', 'me')).body).toMatchObject({ person: { name: 'technician', role: 'technician' }, tabletName: 'Dock 3' })
    const order = (await us.manager('POST', 'work-orders', await orderBody(1))).body
    await us.manager('POST', `work-orders/${order.id}/issue`, { technicianId: us.people.technician })
    const entry = { kind: 'note', id: newId(), madeAt: '2026-05-04T07:50:00Z', text: 'seen' }
    expect((await turn('POST', `work-orders/${order.id}/entries`, entry, { 'idempotency-key': entry.id })).status).toBe(200)
    const sheet = (await us.manager('GET', `work-orders/${order.id}`)).body
    expect(sheet.entries.at(-1)).toMatchObject({ id: entry.id, personName: 'technician' })
    const audit = await sql(`SELECT actor FROM audit_entry WHERE action = 'entry: note'`)
    expect(audit).toEqual([{ actor: 'technician (short code, tablet Dock 3)' }])
  })

  it('makes a manager a technician of its warehouse, and opens no account', async () => {
    const turn = await turnOf(us.people.manager, '70414')
    expect((await turn('GET', 'me')).body).toMatchObject({ person: { role: 'manager' }, warehouses: [{ id: us.north }] })
    expect((await turn('GET', `machine-labels/S-01`)).status).toBe(404)
    const closed = (Object.keys(routes) as RouteName[]).filter((name) => Array.isArray(routes[name].access) && !TURN_ROUTES.has(name))
    expect(closed.length).toBeGreaterThan(80)
    for (const name of closed) {
      const { method, path } = routes[name]
      const reply = await turn(method, path.replace(/:\w+/g, newId()), method === 'GET' ? undefined : {})
      expect([name, reply.status, reply.body.code]).toEqual([name, 403, 'NOT_ON_A_SHARED_TABLET'])
    }
  })

  it('is no cookie, and a cookie is no turn', async () => {
    const { secret } = (await begin(us.people.technician, '2580')).body
    expect((await api.anyone('GET', 'me', undefined, { cookie: `tapewarden_session=${secret}` })).status).toBe(401)
    const rows = await sql('SELECT user_agent FROM session WHERE tablet_id IS NOT NULL AND person_id = $1 AND ended_at IS NULL', [
      us.people.technician,
    ])
    expect(rows).toEqual([{ user_agent: 'Shared tablet Dock 3' }])
  })

  it('waits after five wrong codes for that person alone, also when they are all tried at once', async () => {
    const tries = await Promise.all(Array.from({ length: 8 }, () => begin(us.people.technician, '9999')))
    expect(tries.map(({ status }) => status).toSorted((a, b) => a - b)).toEqual([403, 403, 403, 403, 429, 429, 429, 429])
    expect(await begin(us.people.technician, '2580')).toMatchObject({ status: 429, body: { code: 'CODE_WAITS' } })
    const told = await sql(`SELECT DISTINCT actor, person_id AS "personId" FROM audit_entry WHERE action = 'wrong short code'`)
    expect(told).toEqual([{ actor: 'tablet Dock 3', personId: null }])
    expect(Number((await begin(us.people.technician, '2580')).headers['retry-after'])).toBeGreaterThan(50)
    expect((await begin(us.people.manager, '70414')).status).toBe(200)
    await sql(`UPDATE person SET short_code_waits_until = clock_timestamp() WHERE id = $1`, [us.people.technician])
    expect((await begin(us.people.technician, '9999')).status).toBe(429)
    expect(
      await sql(
        `SELECT round(extract(epoch FROM short_code_waits_until - clock_timestamp()) / 60)::int AS minutes FROM person WHERE id = $1`,
        [us.people.technician],
      ),
    ).toEqual([{ minutes: 2 }])
    await sql(`UPDATE person SET short_code_waits_until = clock_timestamp() WHERE id = $1`, [us.people.technician])
    expect((await begin(us.people.technician, '2580')).status).toBe(200)
    expect(await sql(`SELECT short_code_wrong AS wrong FROM person WHERE id = $1`, [us.people.technician])).toEqual([{ wrong: 0 }])
  })

  it('ends a turn with a new code, with the person, and with the tablet', async () => {
    const first = await turnOf(us.people.technician, '2580')
    await us.technician('PUT', 'me/short-code', { code: '8024' })
    expect((await first('GET', 'me')).status).toBe(401)
    const second = await turnOf(us.people.technician, '8024')
    await us.administrator('PUT', `warehouses/${us.north}/people`, { personIds: [us.people.instructed] })
    expect((await second('GET', 'me')).status).toBe(401)
    expect((await begin(us.people.technician, '8024')).status).toBe(404)
    const third = await turnOf(us.people.manager, '70414')
    expect((await us.manager('DELETE', `tablets/${tabletId}`)).body.endedAt).not.toBeNull()
    expect((await third('GET', 'me')).status).toBe(401)
    expect((await tablet('GET', 'this-tablet')).status).toBe(401)
  })
})

async function orderBody(sequence: number): Promise<Json> {
  const occurrenceId = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, $5, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'measure_motor_brushes'`,
      [us.organisationId, occurrenceId, us.machineId, us.north, sequence],
    ),
  )
  return { machineId: us.machineId, occurrenceIds: [occurrenceId] }
}
