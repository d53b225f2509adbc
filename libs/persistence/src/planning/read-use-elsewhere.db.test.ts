import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows, type NewRow } from '../insert-rows.js'
import { runPlanningPass } from './math.js'
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
      fleet.machineIds[4] as string,
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

describe('passes over two warehouses, one of which knows nothing of its use', () => {
  const two = smallOrganisation('two warehouses')
  const east = newId()
  const task = newId()
  const busy = fleetRows(two, 6, 80)
  const silent = fleetRows({ ...two, ids: { ...two.ids, warehouse: east } }, 3, 0)
  const named = silent.rows.machine?.map((row, index) => ({ ...row, serial_number: `E-${index}`, label_code: `E-${index}` })) ?? []
  const plan = (warehouseId: string) =>
    runPlanningPass(database, {
      organisationId: two.organisationId,
      warehouseId,
      today: '2026-05-21',
      now: new Date('2026-05-21T05:00:00Z'),
    })
  const likelyOn = async (): Promise<unknown[]> => {
    const rows = await database.withOrganisationSql(two.organisationId, (scope) =>
      scope.rows<{ likely_on: string }>('SELECT DISTINCT likely_on FROM forecast WHERE warehouse_id = $1 AND service_task_id = $2', [
        east,
        task,
      ]),
    )
    return rows.map((row) => row.likely_on)
  }

  beforeAll(async () => {
    await database.withOrganisationSql(two.organisationId, async (scope) => {
      await insertAllRows(scope, two.rows)
      await insertAllRows(scope, busy.rows)
      await insertAllRows(scope, {
        warehouse: [{ id: east, name: 'East', zone: 'Europe/Berlin', created_at: '2026-03-02T08:00:00Z' }],
        shift: [1, 2, 3, 4, 5].map((weekday) => ({ id: newId(), warehouse_id: east, weekday, starts: '06:00', ends: '14:00' })),
        ...silent.rows,
        machine: named,
        service_task: [{ id: task, machine_type_id: two.ids.machineType, key: 'by_use' }],
      })
      await insertAllRows(scope, {
        plan_task: [
          {
            id: newId(),
            service_plan_id: two.rows.service_plan?.[0]?.id,
            service_task_id: task,
            position: 2,
            name: 'By use',
            minutes: 15,
            skill: 'technician',
            reach: 'cover_off',
            triggers: [{ kind: 'usage', unit: 'strips', amount: 100_000 }],
          },
        ],
      })
    })
  })

  it('date its machines later where the other’s cut far fewer strips than is stated, and the second night changes nothing', async () => {
    await plan(east)
    const stated = await likelyOn()
    expect((await plan(two.ids.warehouse)).ledgerDaysChanged).toBeGreaterThan(100)
    expect((await plan(east)).forecastsChanged).toBeGreaterThan(0)
    const learnt = await likelyOn()
    expect([stated.length, learnt.length]).toEqual([1, 1])
    expect(String(learnt[0]) > String(stated[0])).toBe(true)
    for (const warehouse of [two.ids.warehouse, east])
      expect(await plan(warehouse)).toMatchObject({ problems: [], forecastsChanged: 0, redated: 0, ledgerDaysChanged: 0 })
  })
})
