/** The three answers that the draft of Idempotency-Key asks for: 409 in flight, 422 for another request, the same answer replayed. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { startTestApi, type Reply, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
let number = 0

const part = (key: string, body: object, ask = us.manager): Promise<Reply> => ask('POST', 'parts', body, { 'idempotency-key': key })
const fresh = () => ({ name: 'Brush set', stockCode: `B-${++number}` })
const count = async (stockCode: string): Promise<number> => {
  const rows = await sql<{ n: number }>('SELECT count(*)::int AS n FROM part WHERE stock_code = $1', [stockCode])
  return rows[0]?.n ?? 0
}
const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
})
afterAll(() => api.close())

describe('an idempotency key', () => {
  it('does a thing once and gives the same status and body again, whatever the order of the keys', async () => {
    const body = fresh()
    const first = await part('a', body)
    const again = await part('"a"', { stockCode: body.stockCode, name: body.name })
    expect(first.status).toBe(201)
    expect(again).toMatchObject({ status: 201, body: first.body, headers: { 'idempotency-replayed': 'true' } })
    expect(first.headers['idempotency-replayed']).toBeUndefined()
    expect(await count(body.stockCode)).toBe(1)
  })

  it('with another body or route is refused, and changes nothing', async () => {
    await part('b', fresh())
    const other = fresh()
    expect(await part('b', other)).toMatchObject({ status: 422, body: { code: 'KEY_OF_ANOTHER_REQUEST' } })
    const elsewhere = await us.manager('POST', 'stoppages', { machineId: us.machineId }, { 'idempotency-key': 'b' })
    expect(elsewhere).toMatchObject({ status: 422, body: { code: 'KEY_OF_ANOTHER_REQUEST' } })
    expect(await count(other.stockCode)).toBe(0)
  })

  it('gives a refusal again as it was, and lets what may pass later be tried again', async () => {
    const body = fresh()
    await part('c', body)
    const refused = await part('d', body)
    expect(refused).toMatchObject({ status: 409, body: { code: 'ALREADY_THERE' } })
    expect((await part('d', body)).body).toEqual(refused.body)
    expect((await part('e', { name: '' })).status).toBe(400)
    expect((await part('e', fresh())).status).toBe(201)
  })

  it('sent five times at once has one effect; the others hear that it is in flight or the same answer', async () => {
    for (let round = 0; round < 20; round++) {
      const body = fresh()
      const replies = await Promise.all(Array.from({ length: 5 }, () => part(`f${round}`, body)))
      const made = replies.filter(({ status }) => status === 201)
      expect(made.length).toBeGreaterThan(0)
      expect(new Set(made.map((reply) => JSON.stringify(reply.body))).size).toBe(1)
      for (const reply of replies)
        if (reply.status !== 201) expect(reply).toMatchObject({ status: 409, body: { code: 'REQUEST_IN_FLIGHT' } })
      expect(await count(body.stockCode)).toBe(1)
    }
  })

  it('in flight is refused until its holder has been silent for a minute, and is then taken over', async () => {
    const body = fresh()
    await part('g', body)
    await sql(`UPDATE idempotency_key SET status = NULL, response = NULL WHERE key = 'g'`)
    await sql('DELETE FROM part WHERE stock_code = $1', [body.stockCode])
    expect(await part('g', body)).toMatchObject({ status: 409, body: { code: 'REQUEST_IN_FLIGHT' } })
    await sql(`UPDATE idempotency_key SET created_at = clock_timestamp() - interval '61 seconds' WHERE key = 'g'`)
    expect((await part('g', body)).status).toBe(201)
    expect(await sql(`SELECT attempt FROM idempotency_key WHERE key = 'g'`)).toEqual([{ attempt: 2 }])
  })

  it('belongs to who sent it, in their own organisation', async () => {
    const body = fresh()
    const mine = await part('h', body)
    expect(await part('h', body, us.administrator)).toMatchObject({ status: 409, body: { code: 'ALREADY_THERE' } })
    const foreign = await part('h', body, them.manager)
    expect(foreign.status).toBe(201)
    expect(foreign.body.id).not.toBe(mine.body.id)
  })

  it('never keeps an answer that holds a secret', async () => {
    const body = { warehouseId: us.north, month: '2026-05', personId: us.people.technician }
    const link = () => us.manager('POST', 'rounds/links', body, { 'idempotency-key': 'i' })
    expect((await link()).status).toBe(201)
    expect(await link()).toMatchObject({ status: 409, body: { code: 'ANSWER_SHOWN_ONCE' } })
    expect(await sql(`SELECT response FROM idempotency_key WHERE key = 'i'`)).toEqual([{ response: null }])
  })

  it('must be readable; keys of last month are forgotten', async () => {
    for (const key of ['', 'x'.repeat(256), 'a b', 'ä'])
      expect(await part(key, fresh())).toMatchObject({ status: 400, body: { errors: [{ pointer: 'header/idempotency-key' }] } })
    const body = fresh()
    await part('j', body)
    await sql(`UPDATE idempotency_key SET created_at = clock_timestamp() - interval '31 days' WHERE key = 'j'`)
    expect((await part('j', fresh())).status).toBe(201)
  })
})

describe('If-Match', () => {
  it('is the version of the answer before: a second change by another is refused with 412', async () => {
    const path = `warehouses/${us.north}`
    const read = await us.manager('GET', path)
    expect(read.headers.etag).toBe(`"${read.body.version}"`)
    const patch = (name: string, headers: Record<string, string>, more = {}) => us.manager('PATCH', path, { name, ...more }, headers)
    const done = await patch('North one', { 'if-match': String(read.headers.etag) })
    expect(done.status).toBe(200)
    expect(done.headers.etag).toBe(`"${read.body.version + 1}"`)
    expect(await patch('North two', { 'if-match': String(read.headers.etag) })).toMatchObject({
      status: 412,
      body: { code: 'PRECONDITION_FAILED' },
    })
    for (const tag of ['W/"1"', '"x"', '1', '"0"', '"99999999999"']) expect((await patch('North', { 'if-match': tag })).status).toBe(412)
    expect((await patch('North', { 'if-match': '"7"' }, { version: 8 })).status).toBe(400)
    expect((await patch('North', { 'if-match': '*' })).status).toBe(200)
    expect((await us.manager('GET', path)).body.name).toBe('North')
  })

  it('on what has no version is refused, not overlooked', async () => {
    const reply = await us.manager('POST', 'parts', fresh(), { 'if-match': '"1"' })
    expect(reply).toMatchObject({ status: 412, body: { code: 'PRECONDITION_FAILED' } })
  })
})
