/** What the review says to do with a machine, from stoppages and use that are told through the api and the books. */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let fleet: string[]

beforeAll(async () => {
  api = await startTestApi('2026-06-01T10:00:00Z')
})
beforeEach(async () => {
  us = await makeOrganisation(api, `north${Math.random().toString(36).slice(2)}`)
  await us.manager('PATCH', `warehouses/${us.north}`, { stoppageCostPerHour: 100 })
  const machines = Array.from({ length: 7 }, (_, at) => ({
    serialNumber: `F-${at}`,
    labelCode: `F-${at}`,
    machineTypeId: us.machineTypeId,
    placement: { warehouseId: us.north, fromAt: '2026-01-05T06:00:00Z' },
  }))
  const made = await us.manager('POST', 'machines/bulk', { machines })
  fleet = [us.machineId, ...made.body.items.map(({ id }: Json) => id)]
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(`UPDATE machine_status_period SET from_at = '2026-01-05T06:00:00Z' WHERE organisation_id = $1`, [us.organisationId]),
  )
})
afterAll(() => api.close())

/** An hour each, on days of their own. */
async function stop(machineId: string, times: number, more: (at: number) => Json = () => ({})): Promise<void> {
  for (let at = 0; at < times; at++) {
    const day = String(at + 4).padStart(2, '0')
    const told = { machineId, failedAt: `2026-05-${day}T08:00:00Z`, backInUseAt: `2026-05-${day}T09:00:00Z`, ...more(at) }
    expect((await us.manager('POST', 'stoppages', told)).status).toBe(201)
  }
}
const use = (machineId: string, strips: number): Promise<unknown> =>
  api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO ledger_day (organisation_id, warehouse_id, machine_id, day, strips, metres, motor_minutes, strips_total, kind, relative_error)
       SELECT $1, $2, $3, date '2026-05-01' + n, $4::float8, 1, 1, $4::float8 * (n + 1), 'strips', 0 FROM generate_series(0, 30) n`,
      [us.organisationId, us.north, machineId, strips],
    ),
  )
async function adviceOf(machineId: string): Promise<Json> {
  const { machines } = (await us.manager('GET', `review?from=2026-05-01&to=2026-05-31&warehouseId=${us.north}`)).body
  return machines.find((one: Json) => one.machineId === machineId).advice
}

describe('what a machine’s stoppages speak for', () => {
  it('is to overhaul one that has one part behind its many stoppages, and to keep its neighbours', async () => {
    await stop(us.machineId, 12, (at) => (at % 3 === 0 ? {} : { componentKey: 'feed_clutch' }))
    await stop(fleet[1] as string, 1)
    expect(await adviceOf(us.machineId)).toEqual({
      advice: 'overhaul',
      sentence: 'Overhaul it: it stops more often than chance explains; 8 of 12 were of the feed clutch.',
    })
    expect(await adviceOf(fleet[1] as string)).toEqual({ advice: 'keep', sentence: 'Keep it: so few stoppages say nothing against it.' })
    expect((await adviceOf(fleet[2] as string)).sentence).toBe('Keep it.')
  })

  it('is a lighter station where a machine does many times the usual work, and no more stoppages for its strips', async () => {
    await stop(us.machineId, 12)
    for (const [at, machineId] of fleet.entries()) {
      await use(machineId, at === 0 ? 3000 : 500)
      if (at > 0) await stop(machineId, 2)
    }
    expect(await adviceOf(us.machineId)).toEqual({
      advice: 'lighter_station',
      sentence:
        'Move it to a lighter station: it does 6.0 times the usual work of its type, and for the strips that it cuts it stops no more often than others.',
    })
  })

  it('asks for no lighter station because of work that it did in another warehouse', async () => {
    await api.database.withOrganisationSql(us.organisationId, async (scope) => {
      const [organisation, machine] = [us.organisationId, us.machineId]
      await scope.run(`UPDATE placement SET from_at = '2026-05-11T06:00:00Z' WHERE organisation_id = $1 AND machine_id = $2`, [
        organisation,
        machine,
      ])
      await scope.run(
        `INSERT INTO placement (organisation_id, id, machine_id, warehouse_id, from_at, to_at)
         VALUES ($1, gen_random_uuid(), $2, $3, '2026-01-05T06:00:00Z', '2026-05-11T06:00:00Z')`,
        [organisation, machine, us.south],
      )
      await scope.run(
        `INSERT INTO ledger_day (organisation_id, warehouse_id, machine_id, day, strips, metres, motor_minutes, strips_total, kind, relative_error)
         SELECT $1, CASE WHEN n < 10 THEN $3::uuid ELSE $4::uuid END, $2, date '2026-05-01' + n, CASE WHEN n < 10 THEN 9000 ELSE 500 END, 1, 1,
           LEAST(n + 1, 10) * 9000 + GREATEST(n - 9, 0) * 500, 'strips', 0 FROM generate_series(0, 30) n`,
        [organisation, machine, us.south, us.north],
      )
    })
    for (const machineId of fleet.slice(1)) {
      await use(machineId, 500)
      await stop(machineId, 2)
    }
    await stop(us.machineId, 12, (at) => ({ failedAt: `2026-05-${at + 12}T08:00:00Z`, backInUseAt: `2026-05-${at + 12}T09:00:00Z` }))
    // In the north it did what the others do: 500 a day.
    expect(await adviceOf(us.machineId)).toMatchObject({ advice: 'overhaul_or_replace' })
  })

  it('is what it costs, where no part and no work explains it', async () => {
    await stop(us.machineId, 12)
    for (const machineId of fleet) await use(machineId, 500)
    // Two of the twelve days are a weekend's: 10 hours within shifts at 100, in 31 days: 11 782 a year, said as two figures.
    expect(await adviceOf(us.machineId)).toEqual({
      advice: 'overhaul_or_replace',
      sentence:
        'Overhaul or replace it: it stops more often than chance explains; no one part is behind it. They cost about €12\u00a0000 a year.',
    })
  })
})
