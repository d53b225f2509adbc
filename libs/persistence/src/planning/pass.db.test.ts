/** The data side of the pass, with plain stand-ins for the mathematics: every number here can be counted by hand. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import type { LedgerInput, MachineLedger, MachinePlan, MachineToPlan, PlanningInput } from '@tapewarden/scheduling'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { fleetRows } from '../../../../tests/support/fleet.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import type { PlanningMath } from './compute.js'
import { type PassRequest, runPlanningPassWith } from './pass.js'

const TODAY = '2026-03-09'
let test: TestDatabase
let database: Database
let request: PassRequest

/** 100 strips a day of evidence become a ledger; evidence above 10 000 strips cannot be true. */
function buildLedgers(input: LedgerInput): ReturnType<PlanningMath['buildLedgers']> {
  const machines = input.machines.map(({ machineId }): MachineLedger => {
    let total = 0
    const own = input.evidence
      .filter((one) => one.machineId === machineId && one.kind === 'strips_day' && (one.amount ?? 0) <= 10_000)
      .sort((a, b) => a.from - b.from)
    const days = own.map(({ from, amount }) => {
      const strips = amount ?? 0
      total += strips
      return {
        day: from,
        strips,
        metres: strips / 2,
        motorMinutes: strips / 20,
        stripsTotal: total,
        kind: 'strips' as const,
        relativeError: 0,
      }
    })
    return {
      machineId,
      days,
      intervals: days.map(({ day, strips }) => ({ from: day, to: day, strips, kind: 'strips' as const, relativeError: 0 })),
      disagreements: [],
    }
  })
  const setAside = input.evidence
    .filter(({ amount }) => (amount ?? 0) > 10_000)
    .map(({ id }) => ({ evidenceId: id, code: 'MORE_THAN_IT_CAN_CUT' as const, reason: 'More strips than it can cut.' }))
  return { machines, setAside }
}

/** Due ten days after today unless open; opened at once, said to the technician and the first person. */
function planOne(machine: MachineToPlan, input: PlanningInput): MachinePlan {
  const task = input.tasksByType[machine.machineTypeId]?.[0]
  if (!task) throw new Error('no plan')
  const due = input.today + 10
  const basis = { strips: machine.stripsTotal }
  const open = machine.open[task.serviceTaskId]
  const dates = {
    nominalOn: due,
    windowFrom: due - 1,
    windowTo: due + 1,
    hardLimitOn: due + 5,
    dueOn: due,
    lateFrom: due + 2,
    needsPerson: false,
    governing: 'calendar' as const,
    basis,
  }
  const say = (['technician', 'first'] as const).map((told) => ({
    stage: 'coming_due' as const,
    told,
    sayOn: input.today,
    class: 'digest' as const,
  }))
  const common = { serviceTaskId: task.serviceTaskId, planTaskId: task.planTaskId }
  return {
    machineId: machine.machineId,
    forecasts: [
      {
        ...common,
        state: 'dated',
        earlyOn: due,
        likelyOn: due,
        lateOn: due,
        noLaterThan: null,
        governing: 'calendar',
        basis,
        reason: null,
      },
    ],
    changes: open
      ? []
      : [
          {
            do: 'open',
            ...common,
            sequence: (machine.sequences[task.serviceTaskId] ?? 0) + 1,
            kind: 'regular',
            componentId: null,
            ...dates,
            say,
          },
        ],
    problem: null,
  }
}

const math: PlanningMath = { buildLedgers, planMachines: (input) => input.machines.map((machine) => planOne(machine, input)) }
const small = smallOrganisation('pass')
const fleet = fleetRows(small, 1000)
const run = (using = math, more: Partial<PassRequest> = {}) => runPlanningPassWith(using, database, { ...request, ...more })
const ask = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  database.withOrganisationSql(small.organisationId, (scope) => scope.rows<Row>(text, values as string[]))
const count = async (text: string) => Number((await ask<{ n: number }>(`SELECT count(*)::int AS n FROM ${text}`))[0]?.n)
/** Everything that a pass writes, as the database's own row versions: any write at all shows. */
const versions = () =>
  ask(`SELECT 'f' AS t, xmin::text AS x, count(*)::int FROM forecast GROUP BY 2 UNION ALL SELECT 'l', xmin::text, count(*)::int FROM ledger_day GROUP BY 2 UNION ALL SELECT 'o', xmin::text, count(*)::int FROM occurrence GROUP BY 2
    UNION ALL SELECT 'r', xmin::text, count(*)::int FROM reminder GROUP BY 2 UNION ALL SELECT 'w', xmin::text, count(*)::int FROM work_order GROUP BY 2 UNION ALL SELECT 't', xmin::text, count(*)::int FROM work_order_task GROUP BY 2
    UNION ALL SELECT 'p', xmin::text, count(*)::int FROM planning_state GROUP BY 2 UNION ALL SELECT 'e', xmin::text, count(*)::int FROM evidence GROUP BY 2 UNION ALL SELECT 'h', xmin::text, 1 FROM warehouse ORDER BY 1, 2`)

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  request = { organisationId: small.organisationId, warehouseId: small.ids.warehouse, today: TODAY, now: new Date('2026-03-09T05:00:00Z') }
  await database.withOrganisationSql(small.organisationId, async (scope) => {
    await insertAllRows(scope, small.rows)
    await insertAllRows(scope, fleet.rows)
  })
})
afterAll(async () => {
  await database.close()
  await test.drop()
})

describe('the planning pass', () => {
  it('leaves nothing behind when it is killed in the middle', async () => {
    const before = await versions()
    const killer: PlanningMath = {
      ...math,
      planMachines: (input) =>
        math.planMachines(input).map((plan) => ({
          ...plan,
          changes: plan.changes.map((change) =>
            change.do === 'open' ? { ...change, planTaskId: '00000000-0000-7000-8000-000000000000' } : change,
          ),
        })),
    }
    // Ledger, forecasts and set-aside evidence are written by then; the occurrence's foreign key stops it.
    await expect(run(killer)).rejects.toThrow('foreign key')
    expect(await versions()).toEqual(before)
  })

  it('plans a thousand machines with at most forty statements, whatever their number', async () => {
    const result = await run(math, { machineIds: fleet.machineIds })
    expect(result).toMatchObject({
      machines: 1000,
      forecastsChanged: 1000,
      ledgerDaysChanged: 5000,
      opened: 1000,
      reminders: 2000,
      workOrders: 1000,
      setAside: 0,
      problems: [],
    })
    expect(result.queries).toBeLessThanOrEqual(40)
    expect(
      await count(`occurrence WHERE state = 'open' AND said_on = '2026-03-09' AND said_due_on = '2026-03-19' AND opened_on = '2026-03-09'`),
    ).toBe(1000)
    expect(
      await ask('SELECT strips_total, metres FROM ledger_day WHERE machine_id = $1 ORDER BY day DESC LIMIT 1', [fleet.machineIds[7]]),
    ).toEqual([{ strips_total: 500, metres: 50 }])
    // Numbers go on from the one that was there, without a gap.
    expect(await ask('SELECT min(number) AS first, max(number) AS last, count(DISTINCT number)::int AS different FROM work_order')).toEqual(
      [{ first: 1, last: 1001, different: 1001 }],
    )
  })

  it('writes no row the second time', async () => {
    await run()
    const before = await versions()
    const again = await run()
    expect(again).toMatchObject({
      machines: 1001,
      forecastsChanged: 0,
      ledgerDaysChanged: 0,
      opened: 0,
      redated: 0,
      superseded: 0,
      reminders: 0,
      workOrders: 0,
      setAside: 0,
    })
    expect(await versions()).toEqual(before)
  })

  it('has one effect when run twice at once', async () => {
    await ask(`UPDATE occurrence SET state = 'done', ended_on = '2026-03-09', done_on = '2026-03-09' WHERE state = 'open'`)
    const results = await Promise.all([run(), run(), run(math, { machineIds: [...fleet.machineIds].reverse() })])
    expect(results.reduce((sum, { opened }) => sum + opened, 0)).toBe(1001)
    expect(await count(`occurrence WHERE state = 'open'`)).toBe(1001)
    expect(await count('(SELECT 1 FROM reminder GROUP BY occurrence_id, stage, person_id HAVING count(*) > 1) x')).toBe(0)
    expect(await count(`work_order_task t JOIN occurrence o ON o.id = t.occurrence_id WHERE o.state = 'open'`)).toBe(1001)
  })

  it('writes only the days that a correction changed, and takes away days on which nothing is known any more', async () => {
    const [machineId] = fleet.machineIds
    await ask(`UPDATE evidence SET amount = 150 WHERE machine_id = $1 AND from_date = '2026-03-05'`, [machineId])
    // 5 March and the running sum of the day after it.
    expect(await run()).toMatchObject({ ledgerDaysChanged: 2, forecastsChanged: 1 })
    await ask(`UPDATE evidence SET state = 'dismissed' WHERE machine_id = $1 AND from_date = '2026-03-06'`, [machineId])
    expect(await run()).toMatchObject({ ledgerDaysChanged: 1, forecastsChanged: 1 })
    expect(await ask('SELECT day, strips_total FROM ledger_day WHERE machine_id = $1 ORDER BY day DESC LIMIT 1', [machineId])).toEqual([
      { day: '2026-03-05', strips_total: 450 },
    ])
  })

  it('sets evidence aside with its reason, and keeps what a person decided', async () => {
    await ask(`UPDATE evidence SET amount = 99999 WHERE machine_id = $1 AND from_date = '2026-03-03'`, [fleet.machineIds[1]])
    expect(await run()).toMatchObject({ setAside: 1 })
    expect(await ask(`SELECT set_aside_code, set_aside_reason FROM evidence WHERE state = 'set_aside'`)).toEqual([
      { set_aside_code: 'MORE_THAN_IT_CAN_CUT', set_aside_reason: 'More strips than it can cut.' },
    ])
    expect(await run()).toMatchObject({ setAside: 0, ledgerDaysChanged: 0 })
  })

  it.each(['buildLedgers', 'planMachines'] as const)(
    'lets a machine that %s cannot compute stop no other, and says so of it',
    async (step) => {
      const [broken] = fleet.machineIds.slice(2)
      const failing: PlanningMath = {
        ...math,
        [step]: (input: LedgerInput & PlanningInput) => {
          if (input.machines.some(({ machineId }) => machineId === broken)) throw new Error('its numbers do not fit')
          return math[step](input) as never
        },
      }
      expect(await run(failing)).toMatchObject({
        machines: 1001,
        problems: [{ machineId: broken, reason: 'its numbers do not fit' }],
        forecastsChanged: 1,
        ledgerDaysChanged: 0,
      })
      expect(await ask('SELECT state, reason, likely_on FROM forecast WHERE machine_id = $1', [broken])).toEqual([
        { state: 'cannot_be_computed', reason: 'its numbers do not fit', likely_on: null },
      ])
      expect(await run()).toMatchObject({ problems: [], forecastsChanged: 1 })
    },
  )

  it('takes an ended occurrence off its draft, drops what was not said yet, and cancels an empty draft', async () => {
    const [machineId] = fleet.machineIds.slice(3)
    const ending: PlanningMath = {
      ...math,
      planMachines: (input) =>
        math.planMachines(input).map((plan) => {
          const open = Object.values(input.machines.find((machine) => machine.machineId === plan.machineId)?.open ?? {})[0]
          return plan.machineId === machineId && open
            ? { ...plan, changes: [{ do: 'supersede', occurrenceId: open.id, reason: 'moved', missed: false }] }
            : plan
        }),
    }
    expect(await run(ending)).toMatchObject({ superseded: 1, opened: 0 })
    expect(await ask(`SELECT end_reason, ended_on FROM occurrence WHERE machine_id = $1 AND state = 'superseded'`, [machineId])).toEqual([
      { end_reason: 'moved', ended_on: TODAY },
    ])
    expect(await count(`reminder WHERE dropped_reason = 'superseded'`)).toBe(2)
    expect(await ask(`SELECT w.state FROM work_order w WHERE w.machine_id = $1 ORDER BY number`, [machineId])).toEqual([
      { state: 'drafted' },
    ])
  })

  it('notes what a whole pass has seen, and never goes back', async () => {
    expect(await ask('SELECT planned_version, planned_on FROM warehouse')).toEqual([{ planned_version: 1, planned_on: TODAY }])
    await ask('UPDATE warehouse SET evidence_version = 7')
    await run(math, { machineIds: fleet.machineIds.slice(0, 10) })
    expect(await ask('SELECT planned_version FROM warehouse')).toEqual([{ planned_version: 1 }])
    await run()
    await run(math, { today: '2026-03-01' })
    expect(await ask('SELECT planned_version, planned_on FROM warehouse')).toEqual([{ planned_version: 7, planned_on: TODAY }])
  })
})
