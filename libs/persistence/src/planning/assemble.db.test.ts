/** From rows to the plain data of the planner: what a component carries from one machine to the next. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import type { LedgerInput, MachineLedger, MachineToPlan } from '@tapewarden/scheduling'
import { newId } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import type { PlanningMath } from './compute.js'
import { dayNumber } from './days.js'
import { type PassRequest, runPlanningPassWith } from './pass.js'

let test: TestDatabase
let database: Database
const small = smallOrganisation('assemble')
/** A and B, 1 000 strips a day from 2 to 31 March 2026. */
const fleet = fleetRows(small, 2, 30)
const [machineA, machineB] = fleet.machineIds as [string, string]
const [setA, setB] = (fleet.rows.component ?? []).map((row) => row.id) as [string, string]
const brushTask = newId()
const request: PassRequest = {
  organisationId: small.organisationId,
  warehouseId: small.ids.warehouse,
  today: '2026-04-01',
  now: new Date('2026-04-01T05:00:00Z'),
}

function ledgerOf(input: LedgerInput, machineId: string): MachineLedger {
  let total = 0
  const own = input.evidence.filter((one) => one.machineId === machineId && one.kind === 'strips_day').sort((a, b) => a.from - b.from)
  const days = own.map(({ from, amount }) => ({
    day: from,
    strips: amount ?? 0,
    metres: 0,
    motorMinutes: 0,
    stripsTotal: (total += amount ?? 0),
    kind: 'strips' as const,
    relativeError: 0,
  }))
  return { machineId, days, intervals: [], disagreements: [] }
}

/** Runs a pass and keeps what the planner was given. */
async function planned(): Promise<Map<string, MachineToPlan>> {
  const seen = new Map<string, MachineToPlan>()
  const math: PlanningMath = {
    buildLedgers: (input) => ({ machines: input.machines.map(({ machineId }) => ledgerOf(input, machineId)), setAside: [] }),
    planMachines: (input) =>
      input.machines.map((machine) => {
        seen.set(machine.machineId, machine)
        return { machineId: machine.machineId, forecasts: [], changes: [], problem: null }
      }),
  }
  const { problems } = await runPlanningPassWith(math, database, request)
  expect(problems).toEqual([])
  return seen
}

const ask = (text: string, values: string[] = []) => database.withOrganisationSql(small.organisationId, (scope) => scope.rows(text, values))

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  const plan = small.rows.service_plan?.[0]?.id
  const brushes = small.rows.component_type?.[0]?.id
  for (const row of fleet.rows.evidence ?? []) Object.assign(row, { amount: 1000 })
  await database.withOrganisationSql(small.organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, fleet.rows)
    await insertAllRows(scope, {
      service_task: [{ id: brushTask, machine_type_id: small.ids.machineType, key: 'look_at_brushes' }],
      plan_task: [
        {
          id: newId(),
          service_plan_id: plan,
          service_task_id: brushTask,
          position: 2,
          name: 'Look at the brushes',
          component_type_id: brushes,
          minutes: 10,
          skill: 'technician',
          reach: 'cover_off',
          triggers: [{ kind: 'usage', unit: 'strips', amount: 20_000 }],
          measurements: [{ key: 'shorter_edge', name: 'Shorter edge', neverBelow: 'type' }],
        },
      ],
      // Looked at on the 6th, when A had done 5 000; measured on the 16th, at 15 000.
      service_record: [
        {
          id: newId(),
          machine_id: machineA,
          service_task_id: brushTask,
          component_id: setA,
          done_on: '2026-03-06',
          done_at: '2026-03-06T10:00:00Z',
          source: 'work_order',
          anchor_on: '2026-03-06',
          created_at: '2026-03-06T10:00:00Z',
        },
        {
          id: newId(),
          machine_id: machineB,
          service_task_id: brushTask,
          component_id: setB,
          done_on: '2026-03-10',
          done_at: '2026-03-10T10:00:00Z',
          source: 'work_order',
          anchor_on: '2026-03-10',
          created_at: '2026-03-10T10:00:00Z',
        },
      ],
      measurement: [
        {
          id: newId(),
          machine_id: machineA,
          component_id: setA,
          name: 'lower',
          value_mm: 14.2,
          measured_on: '2026-03-16',
          created_at: '2026-03-16T10:00:00Z',
        },
        {
          id: newId(),
          machine_id: machineA,
          component_id: setA,
          name: 'upper',
          value_mm: 13.9,
          measured_on: '2026-03-16',
          created_at: '2026-03-16T10:00:00Z',
        },
      ],
    })
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

describe('the planner’s data', () => {
  it('carry the day from which use counts, with the ledger’s total on it', async () => {
    const anchor = `use_anchor_on = '2026-03-04', use_anchor_unit = 'strips', use_anchor_amount = 20000`
    await ask(`UPDATE service_record SET ${anchor} WHERE organisation_id = $1 AND machine_id = $2`, [small.organisationId, machineA])
    try {
      // The end of 4 March is the third day of 1 000.
      expect((await planned()).get(machineA)?.lastDone[brushTask]).toMatchObject({
        stripsTotal: 5000,
        useAnchor: { on: dayNumber('2026-03-04'), unit: 'strips', amount: 20_000, stripsTotal: 3000 },
      })
    } finally {
      await ask(`UPDATE service_record SET use_anchor_on = NULL, use_anchor_unit = NULL WHERE organisation_id = $1`, [small.organisationId])
    }
  })

  it('count a task on the component in place, and lengths by its use', async () => {
    const a = (await planned()).get(machineA)
    // 30 days of 1 000; the look was at the end of 6 March, the fifth day.
    expect(a).toMatchObject({ stripsTotal: 30_000, lastDone: { [brushTask]: { doneOn: dayNumber('2026-03-06'), stripsTotal: 5000 } } })
    expect(a?.components).toEqual([
      {
        componentId: setA,
        componentKey: 'motor_brush_set',
        newOn: dayNumber('2026-03-01'),
        fittedOn: dayNumber('2026-03-01'),
        usedStripsBefore: 0,
        stripsTotalAtFitting: 0,
        lengths: [{ on: dayNumber('2026-03-16'), lengthMm: 13.9, usedStrips: 15_000, stripsTotal: 15_000 }],
      },
    ])
  })

  it('rules.md, worked case: a brush set with 15 000 strips since its look goes from A to B, and B’s look is due after 5 000 more', async () => {
    // Taken out of A at the end of 21 March: 20 000 done there, 15 000 of them since the look. Into B on 31 March.
    await ask(`UPDATE component_placement SET to_date = '2026-03-21', removal_reason = 'moved' WHERE component_id = $1`, [setA])
    await ask(`UPDATE component_placement SET to_date = '2026-03-31', removal_reason = 'planned' WHERE component_id = $1`, [setB])
    await database.withOrganisationSql(small.organisationId, (scope) =>
      insertAllRows(scope, {
        component_placement: [
          { id: newId(), component_id: setA, machine_id: machineB, from_date: '2026-03-31', used_strips_before: 20_000 },
        ],
      }),
    )
    const machines = await planned()
    const b = machines.get(machineB)
    const last = b?.lastDone[brushTask]
    expect(last?.doneOn).toBe(dayNumber('2026-03-06'))
    expect((b?.stripsTotal ?? 0) - (last?.stripsTotal ?? 0)).toBe(15_000)
    expect(b?.components[0]).toMatchObject({
      componentId: setA,
      usedStripsBefore: 20_000,
      stripsTotalAtFitting: 30_000,
      lengths: [{ lengthMm: 13.9, usedStrips: 15_000, stripsTotal: 25_000 }],
    })
    // A has no set now, and so no clock of the set.
    expect(machines.get(machineA)?.components).toEqual([])
    // What it wore there still tells of the next set in A; B's own earlier set was never measured.
    expect(machines.get(machineA)?.earlier).toEqual([
      {
        componentKey: 'motor_brush_set',
        lengths: [{ on: dayNumber('2026-03-16'), lengthMm: 13.9, usedStrips: 15_000, stripsTotal: 15_000 }],
      },
    ])
    expect(b?.earlier).toEqual([])
  })

  it('do not know the use before the first evidence', async () => {
    await ask(`UPDATE service_record SET done_on = '2026-02-01' WHERE component_id = $1`, [setA])
    expect((await planned()).get(machineB)?.lastDone[brushTask]).toMatchObject({ stripsTotal: null })
  })

  it('show what is open, under way and said', async () => {
    const existing = (await planned()).get(small.ids.machine)
    expect(existing?.open[small.ids.task]).toMatchObject({
      id: small.ids.occurrence,
      sequence: 1,
      dueOn: dayNumber('2026-03-09'),
      saidStages: ['coming_due'],
      underWaySince: null,
    })
    await ask(
      `UPDATE work_order SET state = 'under_way', started_at = '2026-03-10T23:30:00Z', last_entry_at = '2026-03-11T10:00:00Z' WHERE id = $1`,
      [small.ids.workOrder],
    )
    // Half past midnight of the 11th in Berlin.
    expect((await planned()).get(small.ids.machine)?.open[small.ids.task]).toMatchObject({
      underWaySince: dayNumber('2026-03-11'),
      lastEntryOn: dayNumber('2026-03-11'),
    })
    expect(existing?.sequences).toEqual({ [small.ids.task]: 1 })
  })
})
