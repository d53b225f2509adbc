/** The pass with the product's own functions, day after day: the second run of a day finds nothing to do. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import { dayNumber, dayText } from './days.js'
import { runPlanningPass } from './math.js'

let test: TestDatabase
let database: Database
const small = smallOrganisation('days')
const fleet = fleetRows(small, 12, 60)
const monthly = newId()

const run = (today: string) =>
  runPlanningPass(database, {
    organisationId: small.organisationId,
    warehouseId: small.ids.warehouse,
    today,
    now: new Date(`${today}T05:00:00Z`),
  })
const ask = (text: string, values: string[] = []) => database.withOrganisationSql(small.organisationId, (scope) => scope.rows(text, values))

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  const plan = small.rows.service_plan?.[0]?.id
  await database.withOrganisationSql(small.organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, fleet.rows)
    await insertAllRows(scope, {
      service_task: [{ id: monthly, machine_type_id: small.ids.machineType, key: 'oil_blade_felt' }],
      plan_task: [
        {
          id: newId(),
          service_plan_id: plan,
          service_task_id: monthly,
          position: 2,
          name: 'Oil the felt',
          minutes: 5,
          skill: 'instructed',
          reach: 'outside',
          triggers: [{ kind: 'calendar_month' }],
        },
      ],
    })
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

describe('the planning pass from day to day', () => {
  it('gives the dates that a hand gives, and the reminders that belong to them', async () => {
    expect((await run('2026-08-20')).problems).toEqual([])
    // Commissioned on 1 March 2026 (rule 18 counts from there), every 6 months: Tuesday 1 September 2026, an open day.
    expect(
      await ask(
        'SELECT DISTINCT state, early_on, likely_on, late_on, governing_trigger FROM forecast WHERE service_task_id = $1 AND machine_id <> $2',
        [small.ids.task, small.ids.machine],
      ),
    ).toEqual([{ state: 'dated', early_on: '2026-09-01', likely_on: '2026-09-01', late_on: '2026-09-01', governing_trigger: 'calendar' }])
    // Rule 8: it opens 7 days before, on 25 August, and not a day earlier.
    expect(
      await ask('SELECT 1 FROM occurrence WHERE service_task_id = $1 AND machine_id <> $2', [small.ids.task, small.ids.machine]),
    ).toEqual([])
    await run('2026-08-24')
    expect(
      await ask('SELECT 1 FROM occurrence WHERE service_task_id = $1 AND machine_id <> $2', [small.ids.task, small.ids.machine]),
    ).toEqual([])
    expect(await run('2026-08-25')).toMatchObject({ opened: 12, workOrders: 12 })
    // Rule 4: 184 days from point to point, so the window is 18 days either side; 125 % of it from 1 March is 17 October.
    expect(
      await ask(
        'SELECT DISTINCT due_on, window_from, window_to, hard_limit_on FROM occurrence WHERE service_task_id = $1 AND opened_on = $2',
        [small.ids.task, '2026-08-25'],
      ),
    ).toEqual([{ due_on: '2026-09-01', window_from: '2026-08-14', window_to: '2026-09-19', hard_limit_on: '2026-10-17' }])
  })

  it('finds nothing to do the second time, on each of ninety days, closures and a peak among them', async () => {
    for (let day = dayNumber('2026-10-05'); day < dayNumber('2027-01-03'); day++) {
      const today = dayText(day)
      const first = await run(today)
      const second = await run(today)
      expect({ today, problems: first.problems }).toEqual({ today, problems: [] })
      expect({ today, ...second }).toMatchObject({
        today,
        forecastsChanged: 0,
        ledgerDaysChanged: 0,
        opened: 0,
        redated: 0,
        superseded: 0,
        reminders: 0,
        workOrders: 0,
        setAside: 0,
      })
    }
  }, 120_000)

  it('settles months and leaves no occurrence without a reminder', async () => {
    // Nobody oiled anything: October, November and December are missed, January's is open.
    const states = await ask(
      `SELECT to_char(nominal_on, 'YYYY-MM') AS month, state, counted_as_missed AS missed, count(*)::int AS n FROM occurrence WHERE service_task_id = $1 AND opened_on >= '2026-10-01' GROUP BY 1, 2, 3 ORDER BY 1`,
      [monthly],
    )
    const missed = ['2026-10', '2026-11', '2026-12'].map((month) => ({ month, state: 'superseded', missed: true, n: 13 }))
    expect(states).toEqual([...missed, { month: '2027-01', state: 'open', missed: false, n: 13 }])
    expect(
      await ask(
        `SELECT o.id FROM occurrence o WHERE o.opened_on >= '2026-03-03' AND NOT EXISTS (SELECT 1 FROM reminder r WHERE r.occurrence_id = o.id)`,
      ),
    ).toEqual([])
  })
})
