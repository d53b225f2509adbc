import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import type { WarehouseCalendar } from '../model.js'
import { dayOf } from '../time/day.js'
import { buildLedgers } from './build.js'
import type { LedgerInput, MachineForLedger, RawEvidence } from './input.js'

/** A Monday; day 5 and 6 after it are closed. */
const monday = dayOf('2026-06-01')
const calendar: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
  closures: [],
  peaks: [],
  shifts: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, startsMinute: 480, endsMinute: 960 })),
}
const long = { day: monday - 100, minute: 0 }
const machine = (changes: Partial<MachineForLedger> = {}): MachineForLedger => ({
  machineId: 'm',
  meanStripMm: 500,
  feedSpeedMPerMin: 50,
  startUpSecondsPerStrip: 0.6,
  mostStripsPerMinute: 10,
  usualStripsPerDay: 1000,
  counterKind: 'strips',
  counterModulus: 100_000,
  placements: [{ stationId: 's', warehouseId: 'w', from: long, to: null, share: 1 }],
  statuses: [],
  ...changes,
})
const build = (evidence: readonly RawEvidence[], machines = [machine()], today = monday + 40) => {
  const input: LedgerInput = { today, warehouseId: 'w', calendar, machines, neighbours: [], stripsPerCarton: { s: 2, t: 2 }, evidence }
  return buildLedgers(input)
}
const piece = (order: number, kind: RawEvidence['kind'], day: number, changes: Partial<RawEvidence>): RawEvidence => ({
  id: `e${order}`,
  kind,
  machineId: 'm',
  stationId: null,
  at: null,
  from: monday + day,
  to: monday + day,
  amount: 0,
  detail: {},
  order,
  ...changes,
})
type Read = readonly [day: number, minute: number, value: number]
const readings = (list: readonly Read[]): RawEvidence[] =>
  list.map(([day, minute, amount], order) => piece(order, 'counter_reading', day, { at: { day: monday + day, minute }, amount }))
const byDay = (days: readonly { day: number; strips: number }[]): Record<number, number> =>
  Object.fromEntries(days.map(({ day, strips }) => [day - monday, Math.round(strips * 1000) / 1000]))

const EVENING = 960
const NOON = 720
const cases: readonly { name: string; list: readonly Read[]; days: Record<number, number>; codes: readonly string[] }[] = [
  { name: 'one reading says nothing', list: [[0, EVENING, 500]], days: {}, codes: [] },
  {
    name: 'evening to evening is the second day',
    list: [
      [0, EVENING, 100],
      [1, EVENING, 900],
    ],
    days: { 1: 800 },
    codes: [],
  },
  {
    name: 'noon to noon halves',
    list: [
      [0, NOON, 0],
      [1, NOON, 1000],
    ],
    days: { 0: 500, 1: 500 },
    codes: [],
  },
  {
    name: 'within one shift',
    list: [
      [0, 480, 0],
      [0, NOON, 300],
    ],
    days: { 0: 300 },
    codes: [],
  },
  {
    name: 'a weekend gets nothing',
    list: [
      [3, EVENING, 0],
      [7, EVENING, 800],
    ],
    days: { 4: 400, 7: 400 },
    codes: [],
  },
  {
    name: 'a week spreads evenly',
    list: [
      [-3, EVENING, 0],
      [4, EVENING, 5000],
    ],
    days: { 0: 1000, 1: 1000, 2: 1000, 3: 1000, 4: 1000 },
    codes: [],
  },
  {
    name: 'roll-over',
    list: [
      [0, EVENING, 99_800],
      [1, EVENING, 300],
    ],
    days: { 1: 500 },
    codes: [],
  },
  {
    name: 'roll-over to zero',
    list: [
      [0, EVENING, 99_000],
      [1, EVENING, 0],
    ],
    days: { 1: 1000 },
    codes: [],
  },
  {
    name: 'a fall too deep to be a roll-over',
    list: [
      [0, EVENING, 50_000],
      [1, EVENING, 300],
    ],
    days: {},
    codes: ['RUNS_BACKWARDS'],
  },
  {
    name: 'more than it can cut',
    list: [
      [0, EVENING, 0],
      [1, EVENING, 50_000],
    ],
    days: {},
    codes: ['MORE_THAN_IT_CAN_CUT'],
  },
]

describe('a fall on a counter that could have rolled over, if the machine cut as fast as it can', () => {
  /** 500 strips a week; it could cut 139 200. */
  const weekly = (values: readonly number[]): RawEvidence[] => readings(values.map((value, week) => [7 * week - 60, EVENING, value]))
  const strips = (evidence: readonly RawEvidence[]): [number, string[]] => {
    const { machines, setAside } = build(evidence, [machine({ mostStripsPerMinute: 40 })])
    const total = (machines[0]?.days ?? []).reduce((sum, day) => sum + day.strips, 0)
    return [Math.round(total), setAside.map(({ evidenceId }) => evidenceId)]
  }
  const base = [90_000, 90_500, 91_000, 91_500, 92_000]

  it('is a slip of the reading before, where all others agree without it', () => {
    expect(strips(weekly([...base, 95_200, 93_000, 93_500]))).toEqual([3500, ['e5']])
  })
  it('is a slip itself, where nothing follows yet', () => {
    expect(strips(weekly([...base, 92_500, 93_000, 39_500]))).toEqual([3000, ['e7']])
  })
  it('is a roll-over where that is like the machine, also in a week several times as busy', () => {
    expect(strips(weekly([98_000, 98_500, 99_000, 99_500, 99_900, 400, 900]))).toEqual([2900, []])
    expect(strips(weekly([98_000, 98_500, 99_000, 99_500, 99_900, 1_800, 2_300]))).toEqual([4300, []])
  })
})

describe('counter series to daily strips, worked by hand', () => {
  it.each(cases)('$name', ({ list, days, codes }) => {
    const result = build(readings(list))
    expect(byDay(result.machines[0]?.days ?? [])).toEqual(days)
    expect(result.setAside.map(({ code }) => code)).toEqual(codes)
  })

  it('a replaced counter starts a new series', () => {
    const evidence = [
      ...readings([
        [0, EVENING, 50_000],
        [2, EVENING, 700],
      ]),
      piece(9, 'counter_replaced', 1, { at: { day: monday + 1, minute: EVENING }, amount: 0, detail: { lastReading: 50_600 } }),
    ]
    expect(byDay(build(evidence).machines[0]?.days ?? [])).toEqual({ 1: 600, 2: 700 })
  })

  it('a counter in metres counts strips by the mean strip', () => {
    const result = build(
      readings([
        [0, EVENING, 0],
        [1, EVENING, 400],
      ]),
      [machine({ counterKind: 'metres' })],
    )
    // 400 m ÷ 0.5 m = 800 strips; motor minutes 400 ÷ 50 + 800 × 0.6 ÷ 60 = 16.
    expect(result.machines[0]?.days[0]).toMatchObject({ strips: 800, metres: 400, motorMinutes: 16, stripsTotal: 800 })
  })
})

describe('daily evidence, worked by hand', () => {
  it('a counter interval scales strips a day inside it and keeps their shape', () => {
    const evidence = [
      ...readings([
        [0, EVENING, 0],
        [2, EVENING, 1200],
      ]),
      piece(5, 'strips_day', 1, { amount: 200 }),
      piece(6, 'strips_day', 2, { amount: 400 }),
    ]
    expect(byDay(build(evidence).machines[0]?.days ?? [])).toEqual({ 1: 400, 2: 800 })
  })

  it('machines at one station split its cartons by stated share', () => {
    const at = (machineId: string, share: number): MachineForLedger =>
      machine({ machineId, placements: [{ stationId: 's', warehouseId: 'w', from: long, to: null, share }] })
    const result = build([piece(0, 'cartons_day', 0, { machineId: null, stationId: 's', amount: 200 })], [at('a', 0.75), at('b', 0.25)])
    expect(result.machines.map(({ days }) => byDay(days))).toEqual([{ 0: 300 }, { 0: 100 }])
  })

  it('on the day of a move each machine gets its share of shift minutes', () => {
    const noon = { day: monday, minute: NOON }
    const leaving = machine({ machineId: 'a', placements: [{ stationId: 's', warehouseId: 'w', from: long, to: noon, share: 1 }] })
    const coming = machine({ machineId: 'b', placements: [{ stationId: 's', warehouseId: 'w', from: noon, to: null, share: 1 }] })
    const result = build([piece(0, 'cartons_day', 0, { machineId: null, stationId: 's', amount: 200 })], [leaving, coming])
    expect(result.machines.map(({ days }) => byDay(days))).toEqual([{ 0: 200 }, { 0: 200 }])
  })

  it('before the books, what came into them there first had the work of a station; what came later takes none of it', () => {
    const since = (machineId: string, day: number) =>
      machine({
        machineId,
        placements: [{ stationId: 's', warehouseId: 'w', from: { day: monday + day, minute: NOON }, to: null, share: 1 }],
      })
    const at = (day: number) => piece(day, 'cartons_day', day, { machineId: null, stationId: 's', amount: 100 })
    const { machines, setAside } = build([at(0), at(2), at(8)], [since('a', 2), since('b', 2), since('c', 7)])
    expect(setAside).toEqual([])
    expect(machines.map(({ days }) => byDay(days))).toEqual([{ 0: 100, 2: 100, 8: 66.667 }, { 0: 100, 2: 100, 8: 66.667 }, { 8: 66.667 }])
    const shelved = machine({ ...since('a', 2), statuses: [{ status: 'in_service', from: { day: monday + 1, minute: 0 }, to: null }] })
    expect(build([at(0)], [shelved]).setAside).toMatchObject([{ code: 'NOT_PLACED_THEN' }])
  })

  it('a machine that went from one station to another has the cartons of both on that day', () => {
    const noon = { day: monday, minute: NOON }
    const both = [
      { stationId: 's', warehouseId: 'w', from: long, to: noon, share: 1 },
      { stationId: 't', warehouseId: 'w', from: noon, to: null, share: 1 },
    ]
    const at = (id: number, stationId: string, amount: number) => piece(id, 'cartons_day', 0, { machineId: null, stationId, amount })
    const { machines, setAside } = build([at(0, 's', 200), at(1, 't', 100)], [machine({ machineId: 'a', placements: both })])
    expect([setAside, byDay(machines[0]?.days ?? [])]).toEqual([[], { 0: 600 }])
    expect(machines[0]?.intervals).toMatchObject([{ from: monday, to: monday, strips: 600, kind: 'cartons' }])
  })

  it('sets aside what cannot be true and keeps the rest', () => {
    const result = build([
      piece(0, 'strips_day', 0, { amount: 300 }),
      piece(1, 'strips_day', 0, { amount: 310 }),
      piece(2, 'strips_day', 50, { amount: 300 }),
      piece(3, 'strips_day', 1, { amount: -1 }),
      piece(4, 'strips_day', 2, { amount: 99_000 }),
      piece(5, 'strips_day', 3, { amount: 300, machineId: 'nobody' }),
    ])
    expect(byDay(result.machines[0]?.days ?? [])).toEqual({ 0: 300 })
    expect(result.setAside.map(({ code }) => code)).toEqual([
      'DUPLICATE',
      'IN_THE_FUTURE',
      'NEGATIVE',
      'MORE_THAN_IT_CAN_CUT',
      'UNKNOWN_MACHINE',
    ])
  })
})

describe('properties', () => {
  const steps = fc.array(
    fc.record({
      days: fc.integer({ min: 1, max: 9 }),
      minute: fc.integer({ min: 480, max: 960 }),
      stripsADay: fc.integer({ min: 80, max: 300 }),
    }),
    {
      minLength: 2,
      maxLength: 8,
    },
  )
  it('keeps every strip between the first and the last reading, in whatever order the evidence stands', () => {
    fc.assert(
      fc.property(steps, (list) => {
        let day = -30
        let value = 99_000
        const evidence = readings(
          list.map(({ days, minute, stripsADay }, index): Read => {
            day += days
            if (index > 0) value = (value + days * stripsADay) % 100_000
            return [day, minute, value]
          }),
        )
        const cut = list.slice(1).reduce((sum, { days, stripsADay }) => sum + days * stripsADay, 0)
        const result = build(evidence)
        expect(result.setAside).toEqual([])
        expect(result.machines[0]?.days.reduce((sum, { strips }) => sum + strips, 0) ?? 0).toBeCloseTo(cut, 6)
        expect(build([...evidence].reverse())).toEqual(result)
      }),
      { numRuns: 200 },
    )
  })
})
