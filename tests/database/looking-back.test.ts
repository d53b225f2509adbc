/** The review's measures against plain SQL over the rows that their links open; life curves; how good the own dates have been. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { insertAllRows, type SqlValue } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { csvOf } from '../../apps/web/src/desk/review-file.js'
import { lifeFile } from '../../apps/web/src/desk/life-file.js'

let api: TestApi
let us: ApiOrganisation

const sql = <Row extends Record<string, unknown>>(text: string, values: SqlValue[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, [us.organisationId, ...values]))
const insert = (rows: Record<string, object[]>) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => insertAllRows(scope, rows as never))

beforeAll(async () => {
  api = await startTestApi('2026-06-01T10:00:00Z')
  us = await makeOrganisation(api, 'back')
})
afterAll(() => api.close())

/** Day and hour of April 2026, UTC. */
const at = (day: number, hour: number) => `2026-04-${String(day).padStart(2, '0')}T${String(hour).padStart(2, '0')}:00:00.000Z`

async function stop(machineId: string, day: number, hours: number, more: object = {}): Promise<void> {
  const reply = await us.manager('POST', 'stoppages', {
    machineId,
    failedAt: at(day, 4),
    noticedAt: at(day, 5),
    workBegunAt: at(day, 7),
    repairedAt: at(day, 7 + hours),
    backInUseAt: at(day, 8 + hours),
    waits: [
      { reason: 'part', fromAt: at(day, 7), toAt: at(day, 8) },
      { reason: 'access', fromAt: at(day, 8), toAt: at(day, hours >= 3 ? 9 : 8) },
    ],
    ...more,
  })
  if (reply.status !== 201) throw new Error(JSON.stringify(reply.body))
}

const hours = (to: string, from: string) => `EXTRACT(epoch FROM ${to} - ${from})::float8 / 3600`
const waited = (reason: string) =>
  `COALESCE((SELECT sum(${hours(`(w->>'toAt')::timestamptz`, `(w->>'fromAt')::timestamptz`)}) FROM jsonb_array_elements(x.waits) AS w WHERE w->>'reason' = '${reason}'), 0)`
const WHERE = `FROM stoppage x WHERE x.organisation_id = $1 AND x.id = ANY($2::uuid[])`
/** Each measure by hand, over the ids of its rows. */
const BY_HAND: Readonly<Record<string, string>> = {
  mean_hours_to_back_in_use: `avg(${hours('back_in_use_at', 'failed_at')}) AS value ${WHERE}`,
  mean_detectionHours: `avg(${hours('noticed_at', 'failed_at')}) AS value ${WHERE}`,
  mean_administrativeHours: `avg(${hours('work_begun_at', 'noticed_at')} + ${hours('back_in_use_at', 'repaired_at')}) AS value ${WHERE}`,
  mean_logisticHours: `avg(${waited('part')}) AS value ${WHERE}`,
  mean_technicalHours: `avg(${waited('access')}) AS value ${WHERE}`,
  mean_activeHours: `avg(${hours('repaired_at', 'work_begun_at')} - ${waited('part')} - ${waited('access')}) AS value ${WHERE}`,
  planned_share: `avg(planned::int)::float8 AS value ${WHERE}`,
  repeat_share: `avg((gap <= interval '30 days')::int)::float8 AS value FROM (SELECT COALESCE(failed_at - lag(failed_at) OVER (PARTITION BY machine_id ORDER BY failed_at), interval '99 days') AS gap ${WHERE}) AS gaps`,
  care_in_time: `avg((state = 'done' AND (late_from IS NULL OR done_on < late_from))::int)::float8 AS value FROM occurrence x WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
  care_missed: `avg(counted_as_missed::int)::float8 AS value FROM occurrence x WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
}
/** The addresses that the page's links ask for; see ROWS of review-measures.tsx. */
const ASKED: Readonly<Record<string, string>> = {
  all: 'stoppages?begun=true&',
  unplanned: 'stoppages?begun=true&planned=false&',
  unplanned_ended: 'stoppages?begun=true&planned=false&open=false&',
  care: 'occurrences?judged=true&',
}

describe('each measure', () => {
  let second: string
  beforeAll(async () => {
    const type = (
      await us.administrator('POST', 'machine-types', {
        name: 'Short-strip',
        drive: 'electric',
        supply: 'cord_and_plug',
        heater: false,
        shortestStripMm: 100,
        longestStripMm: 300,
        plan: 'none',
      })
    ).body
    second = (
      await us.administrator('POST', 'machines', {
        serialNumber: 'S-N-02',
        labelCode: 'N-02',
        machineTypeId: type.id,
        placement: { warehouseId: us.north, fromAt: '2026-01-05T06:00:00Z' },
      })
    ).body.id
    for (const day of [1, 3, 9, 20, 22, 27]) await stop(us.machineId, day, 1 + (day % 4))
    for (const day of [6, 13]) await stop(us.machineId, day, 1, { planned: true, cause: 'planned_work' })
    // In the south until the 15th, in the north from then on: each belongs to where it happened.
    await stop(us.farMachineId, 2, 2)
    await stop(us.farMachineId, 8, 3)
    const moved = await us.manager('POST', `machines/${us.farMachineId}/moves`, { warehouseId: us.north, at: '2026-04-15T12:00:00Z' })
    expect(moved.status).toBe(200)
    await stop(us.farMachineId, 17, 2)
    await stop(us.farMachineId, 24, 5)
    for (const day of [7, 21]) await stop(second, day, 4)
    // Still open, begun in the period; and one from before that reaches into it.
    await us.manager('POST', 'stoppages', { machineId: second, failedAt: at(29, 9) })
    await us.manager('POST', 'stoppages', { machineId: us.machineId, failedAt: '2026-03-31T18:00:00Z', backInUseAt: at(1, 2) })
    const [task] = await sql<{ task: string; plan: string }>(
      'SELECT service_task_id AS task, id AS plan FROM plan_task WHERE organisation_id = $1 ORDER BY id LIMIT 1',
    )
    const care = (sequence: number, day: number, how: 'in time' | 'late' | 'missed' | 'superseded', warehouse: string) => ({
      id: newId(),
      machine_id: us.machineId,
      warehouse_id: warehouse,
      service_task_id: task!.task,
      plan_task_id: task!.plan,
      sequence,
      kind: 'regular',
      state: how === 'superseded' || how === 'missed' ? 'superseded' : 'done',
      opened_on: '2026-03-20',
      nominal_on: '2026-04-04',
      window_from: '2026-04-01',
      window_to: '2026-04-07',
      due_on: '2026-04-04',
      late_from: how === 'in time' ? '2026-05-20' : '2026-04-02',
      governing_trigger: 'calendar',
      ended_on: `2026-04-${day}`,
      done_on: how === 'superseded' || how === 'missed' ? null : `2026-04-${day}`,
      counted_as_missed: how === 'missed',
      created_at: '2026-03-20T00:00:00Z',
    })
    await insert({
      occurrence: [
        ...[10, 11, 12, 13].map((day, index) => care(101 + index, day, 'in time', us.north)),
        care(105, 14, 'late', us.north),
        care(106, 15, 'missed', us.north),
        care(107, 16, 'superseded', us.north),
        care(108, 17, 'in time', us.south),
      ],
    })
  })

  it.each([
    ['everywhere', () => ''],
    ['in one warehouse', () => `&warehouseId=${us.north}`],
    ['of one type', () => `&machineTypeId=${us.machineTypeId}`],
    ['of one type in one warehouse', () => `&warehouseId=${us.north}&machineTypeId=${us.machineTypeId}`],
  ])('%s equals plain SQL over the rows that its link opens, as many as its n', async (_where, scope) => {
    const period = `from=2026-04-01&to=2026-04-30${scope()}`
    const review = (await us.manager('GET', `review?${period}`)).body
    expect(review.measures.map(({ key }: Json) => key).sort()).toEqual(['mean_hours_between', ...Object.keys(BY_HAND)].sort())
    for (const { key, rows, estimate } of review.measures) {
      const asked = rows === 'care' ? period.replace('from=', 'endedFrom=').replace('to=', 'endedTo=') : period
      const { items, nextCursor } = (await us.manager('GET', `${ASKED[rows]}limit=200&${asked}`)).body
      expect([key, nextCursor, items.length]).toEqual([key, null, estimate.n])
      if (estimate.value === null || key === 'mean_hours_between') continue
      const [byHand] = await sql<{ value: number }>(`SELECT ${BY_HAND[key]}`, [items.map(({ id }: Json) => id)])
      expect([key, estimate.value]).toEqual([key, expect.closeTo(byHand!.value, 9)])
    }
    // The row behind the machines' hours, and the file, say the same.
    const file = csvOf(review).content
    for (const { estimate } of review.measures)
      expect(file).toContain([estimate.value ?? '', estimate.low ?? '', estimate.high ?? '', estimate.n].join(','))
    expect(file).toContain(review.machines[0].labelCode)
  })

  it('counts hours in service where the machine stood: the moved one half of April in either place', async () => {
    const of = async (warehouse: string) => {
      const review = (await us.manager('GET', `review?from=2026-04-01&to=2026-04-30&warehouseId=${warehouse}`)).body
      return review.machines.find(({ labelCode }: Json) => labelCode === 'S-01')
    }
    const [north, south] = [await of(us.north), await of(us.south)]
    // April in Berlin ends on 30 April 22:00 UTC, in Chicago it begins on 1 April 05:00 UTC; the move was on 15 April 12:00 UTC.
    expect(north).toMatchObject({ unplanned: 2, hoursObserved: expect.closeTo(15 * 24 + 10, 6), warehouseName: 'North' })
    expect(south).toMatchObject({ unplanned: 2, hoursObserved: expect.closeTo(14 * 24 + 7, 6), warehouseName: 'South' })
    const all = (await us.manager('GET', 'review?from=2026-04-01&to=2026-04-30')).body
    expect(all.machines.find(({ labelCode }: Json) => labelCode === 'S-01')).toMatchObject({ unplanned: 4, stoppages: 4 })
  })
})

describe('the life curve of blades', () => {
  const DAY = 86_400_000
  const day = (from: string, days: number) => new Date(Date.parse(`${from}T00:00:00Z`) + days * DAY).toISOString().slice(0, 10)
  /** Months of the ledger from a day on, as the pass notes them. */
  const months = (from: string, days: number) =>
    Object.fromEntries(Array.from({ length: Math.ceil(days / 20) + 1 }, (_, index) => [day(from, index * 20).slice(0, 7), 'x']))

  /** One machine a blade: 100 strips a day from its fitting on. */
  async function blades(list: { fitted: string; days: number; reason: string | null; useKnown: boolean }[], prefix: string): Promise<void> {
    const [type] = await sql<{ id: string }>(`SELECT id FROM component_type WHERE organisation_id = $1 AND key = 'blade'`)
    const rows: Record<string, object[]> = {
      machine: [],
      placement: [],
      component: [],
      component_placement: [],
      ledger_day: [],
      planning_state: [],
    }
    for (const [index, blade] of list.entries()) {
      const [machine, component] = [newId(), newId()]
      rows.machine!.push({
        id: machine,
        machine_type_id: us.machineTypeId,
        serial_number: `${prefix}-${index}`,
        label_code: `${prefix}-${index}`,
        registered_on: blade.fitted,
        status_since: blade.fitted,
        created_at: '2020-01-01T00:00:00Z',
      })
      rows.placement!.push({ id: newId(), machine_id: machine, warehouse_id: us.north, from_at: `${blade.fitted}T00:00:00Z` })
      rows.component!.push({ id: component, component_type_id: type!.id, new_on: blade.fitted, counts_in_life_data: true, note: '' })
      rows.component_placement!.push({
        id: newId(),
        component_id: component,
        machine_id: machine,
        from_date: blade.fitted,
        to_date: blade.reason === null ? null : day(blade.fitted, blade.days),
        removal_reason: blade.reason,
      })
      if (!blade.useKnown) continue
      rows.ledger_day!.push({
        machine_id: machine,
        day: day(blade.fitted, blade.days),
        warehouse_id: us.north,
        strips: 100 * blade.days,
        metres: 1,
        motor_minutes: 1,
        strips_total: 100 * blade.days,
        kind: 'counter',
        relative_error: 0,
      })
      rows.planning_state!.push({ machine_id: machine, ledger_months: months(blade.fitted, blade.days) })
    }
    await insert(rows)
  }
  const ask = async (query = '') => (await us.manager('GET', `review/life-curve?${query}`)).body

  it('is hidden with its reason below five failures', async () => {
    const none = await ask()
    expect(none).toMatchObject({
      unit: 'months',
      hiddenReason: 'Of none is it known in months how long it has held.',
      seen: [],
      fit: null,
    })
    await blades(
      [300, 400, 500, 600].map((days) => ({ fitted: '2022-03-01', days, reason: 'broken', useKnown: true })),
      'K',
    )
    expect(await ask()).toMatchObject({
      hiddenReason: expect.stringContaining('Only 4 wore out or broke; at least 5 are needed'),
      seen: [],
      fit: null,
    })
  })

  it('tells strips where use is known, months of all, and each part behind it', async () => {
    await blades(
      [
        { fitted: '2022-03-01', days: 700, reason: 'worn', useKnown: true },
        { fitted: '2022-03-01', days: 800, reason: 'planned', useKnown: true },
        { fitted: '2022-03-01', days: 900, reason: 'broken', useKnown: false },
        { fitted: '2024-06-01', days: 730, reason: null, useKnown: false },
      ],
      'L',
    )
    const strips = await ask()
    expect(strips.unit).toBe('strips')
    // Five failures of six parts whose strips are known: 5/6, 4/6, 3/6, 2/6, 1/6 still good; the planned one only held.
    expect(strips.counts).toMatchObject({ parts: 6, failures: 5, failuresByUnit: { strips: 5, months: 6 } })
    expect(strips.seen.map((row: Json) => [row.age, row.atRisk, Number(row.stillGood.toFixed(9))])).toEqual([
      [30_000, 6, Number((5 / 6).toFixed(9))],
      [40_000, 5, Number((4 / 6).toFixed(9))],
      [50_000, 4, 0.5],
      [60_000, 3, Number((2 / 6).toFixed(9))],
      [70_000, 2, Number((1 / 6).toFixed(9))],
    ])
    expect(strips.fit.half.low).toBeLessThan(strips.fit.half.value)
    const unknown = strips.parts.filter(({ counted }: Json) => counted === 'left_out')
    expect(unknown.map(({ leftOutReason }: Json) => leftOutReason)).toContain('Its strips are not known from its first day on.')
    const inMonths = await ask('unit=months')
    expect(inMonths.counts.failures).toBe(6)
    // 900 days by 365.25 a year.
    expect(inMonths.seen.at(-1).age).toBeCloseTo((900 / 365.25) * 12, 9)
    // The dates use the same parts, drawn towards 5 to 20 years.
    expect(inMonths.datesUse.halfMonths).toBeGreaterThan(inMonths.fit.half.value)
    const file = lifeFile(strips).content
    for (const { age, atRisk, failed, stillGood } of strips.seen) expect(file).toContain([age, atRisk, failed, stillGood].join(','))
    expect(file).toContain(['Half failed by, strips'].join(''))
    expect(file).toContain(String(strips.fit.half.value))
  })

  it('is that of one type, and of nothing foreign', async () => {
    const others = (await us.administrator('GET', 'machine-types')).body.items.find(({ name }: Json) => name === 'Short-strip')
    expect((await ask(`machineTypeId=${others.id}&unit=months`)).counts.failures).toBe(0)
    expect((await ask(`machineTypeId=${newId()}`)).counts.onRecord).toBe(0)
    expect((await us.technician('GET', 'review/life-curve')).status).toBe(403)
  })
})

describe('how good our own dates have been', () => {
  const ask = async (query = '') => (await us.manager('GET', `review/dates?${query}`)).body
  const scored = (index: number, trueOn: string, below: number, above: number) => ({
    machine_id: index % 2 === 0 ? us.machineId : us.farMachineId,
    done_on: `2026-01-${String(index + 1).padStart(2, '0')}`,
    warehouse_id: us.north,
    trigger_kind: 'usage',
    early_on: '2026-03-01',
    likely_on: '2026-03-11',
    late_on: '2026-03-21',
    true_on: trueOn,
    share_below: below,
    share_above: above,
    scored_on: '2026-05-31',
  })

  it('is hidden below five, and told with its rows and limits from then on', async () => {
    const [task] = await sql<{ id: string }>('SELECT id FROM service_task WHERE organisation_id = $1 ORDER BY id LIMIT 1')
    const rows = [
      scored(0, '2026-02-27', 1, 0),
      scored(1, '2026-03-05', 0, 0),
      scored(2, '2026-03-12', 0, 0),
      scored(3, '2026-03-13', 0, 0),
      scored(4, '2026-03-20', 0, 0),
      scored(5, '2026-03-25', 0, 1),
    ].map((row) => ({ ...row, service_task_id: task!.id }))
    await insert({ scored_date: rows.slice(0, 4) })
    const few = await ask()
    expect(few.scores[0]).toMatchObject({
      trigger: 'usage',
      between: { n: 4, value: null, hiddenReason: 'Only 4 have come true so far; at least 5 are needed.' },
    })
    expect(few.workedOutOn).toBeNull()
    await insert({ scored_date: rows.slice(4) })
    await sql(`UPDATE warehouse SET dates_scored_on = '2026-05-31' WHERE organisation_id = $1 RETURNING id`)
    const all = await ask()
    // Four of six between, one on either side; machines alternate, so each has two of three between.
    expect(all.scores[0]).toMatchObject({
      between: { n: 6, value: expect.closeTo(4 / 6, 12), low: expect.closeTo(4 / 6, 9), high: expect.closeTo(4 / 6, 9) },
      belowEarly: { value: expect.closeTo(1 / 6, 12) },
      aboveLate: { value: expect.closeTo(1 / 6, 12) },
      // −12, −6, 1, 2, 9, 14 days: 1.5 in the middle.
      medianDaysLate: 1.5,
      medianWidthDays: 20,
    })
    expect(all.workedOutOn).toBe('2026-05-31')
    expect(all.sentences[0]).toMatch(/^Of 6 dates by use that have come true, 67 %/)
    expect(all.scores.slice(1).map(({ between }: Json) => between.hiddenReason)).toEqual([
      expect.stringContaining('Nobody sees the day'),
      expect.stringContaining('no day that could come true'),
    ])
    const first = (await us.manager('GET', 'review/dates/rows?limit=4')).body
    const next = (await us.manager('GET', `review/dates/rows?limit=4&cursor=${first.nextCursor}`)).body
    expect([...first.items, ...next.items].map(({ place }: Json) => place)).toEqual([
      'after_late',
      'between',
      'between',
      'between',
      'between',
      'before_early',
    ])
    expect(next.nextCursor).toBeNull()
    expect((await ask(`warehouseId=${us.south}`)).scores[0].between.n).toBe(0)
  })
})
