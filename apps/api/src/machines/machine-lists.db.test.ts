/** What was done and found at one machine is read to its end, however long it is, each row once. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const RECORDS = 1205
const FINDINGS = 730

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  await api.database.withOrganisationSql(us.organisationId, async (scope) => {
    // Several a day, so that pages end in the middle of one.
    await scope.run(
      `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, done_on, done_at, source, anchor_on, created_at)
       SELECT $1, gen_random_uuid(), $2, k.id, date '2026-05-01' - n / 7, timestamptz '2026-05-01T08:00:00Z' - make_interval(days => n / 7), 'import', date '2026-05-01' - n / 7, clock_timestamp()
       FROM generate_series(1, ${RECORDS}) n, (SELECT id FROM service_task WHERE organisation_id = $1 ORDER BY key LIMIT 1) k`,
      [us.organisationId, us.machineId],
    )
    await scope.run(
      `INSERT INTO finding (organisation_id, id, machine_id, found_on, text, settled_on, created_at)
       SELECT $1, gen_random_uuid(), $2, date '2026-05-01' - n % 90, 'finding ' || n, CASE WHEN n % 5 = 0 THEN NULL ELSE date '2026-05-02' - n % 31 END, clock_timestamp()
       FROM generate_series(1, ${FINDINGS}) n`,
      [us.organisationId, us.machineId],
    )
  })
})
afterAll(() => api.close())

async function readAll(path: string, limit: number): Promise<{ items: Json[]; pages: number }> {
  const items: Json[] = []
  let cursor = ''
  for (let pages = 1; ; pages++) {
    const reply = await us.technician('GET', `machines/${us.machineId}/${path}?limit=${limit}${cursor && `&cursor=${cursor}`}`)
    expect(reply.status).toBe(200)
    items.push(...reply.body.items)
    if (reply.body.nextCursor === null) return { items, pages }
    expect(reply.body.items).toHaveLength(limit)
    cursor = reply.body.nextCursor
  }
}
const sortedBy = (items: Json[], key: (item: Json) => string): boolean =>
  items.every((item, at) => at === 0 || key(items[at - 1]) >= key(item))

describe.each([200, 97])('read %i at a time', (limit) => {
  it('service records come newest first, all of them, each once', async () => {
    const { items, pages } = await readAll('service-records', limit)
    expect({ items: items.length, pages }).toEqual({ items: RECORDS, pages: Math.ceil(RECORDS / limit) })
    expect(new Set(items.map(({ id }) => id)).size).toBe(RECORDS)
    expect(sortedBy(items, ({ doneOn, id }) => `${doneOn} ${id}`)).toBe(true)
  })

  it('findings come open ones first, then newest first, all of them, each once', async () => {
    const { items } = await readAll('findings', limit)
    expect(new Set(items.map(({ id }) => id)).size).toBe(FINDINGS)
    expect(sortedBy(items, ({ settledOn, foundOn, id }) => `${settledOn === null ? 1 : 0} ${foundOn} ${id}`)).toBe(true)
    expect(items.filter(({ settledOn }) => settledOn === null)).toHaveLength(FINDINGS / 5)
  })
})

it.each(['service-records', 'findings'])('%s take a cursor of their own alone, and fifty without a limit', async (path) => {
  const list = (query: string) => us.technician('GET', `machines/${us.machineId}/${path}${query}`)
  expect((await list('')).body.items).toHaveLength(50)
  const foreign = (await us.technician('GET', `machines/${us.machineId}/${path === 'findings' ? 'service-records' : 'findings'}`)).body
  expect(await list(`?cursor=${foreign.nextCursor}`)).toMatchObject({ status: 422, body: { code: 'INVALID_CURSOR' } })
  expect((await list('?cursor=made-up')).status).toBe(422)
  expect((await list('?limit=201')).status).toBe(400)
  const far = await us.technician('GET', `machines/${us.farMachineId}/${path}?cursor=${(await list('')).body.nextCursor}`)
  expect(far.status).toBe(404)
})
