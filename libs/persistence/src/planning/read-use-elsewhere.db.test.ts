import { afterAll, beforeAll, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows, type NewRow } from '../insert-rows.js'
import { readUseElsewhere } from './read-use-elsewhere.js'

const small = smallOrganisation('elsewhere')
const fleet = fleetRows(small, 5, 0)
const SOUTH = newId()
const TODAY = '2026-12-11'
let test: TestDatabase
let database: Database

const day = (machine: number, on: string, strips: number, kind = 'counter'): NewRow => ({
  machine_id: fleet.machineIds[machine] as string,
  day: on,
  warehouse_id: small.ids.warehouse,
  strips,
  metres: 0,
  motor_minutes: 0,
  strips_total: 0,
  kind,
  relative_error: 0,
})

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  await database.withOrganisationSql(small.organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, fleet.rows)
    await insertAllRows(scope, {
      warehouse: [{ id: SOUTH, name: 'South', zone: 'Europe/Berlin', created_at: '2026-03-02T08:00:00Z' }],
      ledger_day: [
        // 100, 200 and 400 a day on which it ran.
        ...['2026-10-01', '2026-10-02', '2026-11-13'].map((on) => day(0, on, 100)),
        day(1, '2026-10-01', 150),
        day(1, '2026-10-02', 250, 'cartons'),
        day(1, '2026-10-03', 0),
        day(2, '2026-09-19', 400),
        // Twelve weeks and a day ago.
        day(2, '2026-09-18', 9),
        // In the peak from 15 November on.
        day(2, '2026-11-16', 900),
        // Words of the month.
        day(3, '2026-10-01', 800, 'tap'),
        // Not in service.
        day(4, '2026-10-01', 700),
      ],
    })
    await scope.run(`UPDATE machine SET status = 'on_the_shelf' WHERE organisation_id = $1 AND id = $2`, [
      small.organisationId,
      fleet.machineIds[4],
    ])
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

const ask = (warehouseId: string) =>
  database.withOrganisationSql(small.organisationId, (scope) => readUseElsewhere(scope, warehouseId, TODAY))

it('tells the mean and spread of ln(strips a day) of each type in each other warehouse: by hand 100, 200 and 400', async () => {
  const [north, ...more] = await ask(SOUTH)
  expect(more).toEqual([])
  expect(north).toMatchObject({ machineTypeId: small.ids.machineType, machines: 3 })
  expect(north?.logMean).toBeCloseTo(Math.log(200), 12)
  expect(north?.logSd).toBeCloseTo(Math.log(2), 12)
})

it('tells nothing of the warehouse itself', async () => {
  expect(await ask(small.ids.warehouse)).toEqual([])
})
