import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import type { WarehouseCalendar } from '../model.js'
import { dayOf } from '../time/day.js'
import { instantToLocal } from '../time/instant.js'
import { type MachineHistory, reviewMachines } from './machine-review.js'
import { hoursInShifts, shiftsWithin } from './shift-hours.js'

/** Monday to Friday 06:00–14:00, Friday and Saturday 22:00–04:00, closed on Thursday 14 May 2026. */
const calendar: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 840, 360, 0],
  shifts: [
    ...[1, 2, 3, 4, 5].map((weekday) => ({ weekday, startsMinute: 360, endsMinute: 840 })),
    ...[5, 6].map((weekday) => ({ weekday, startsMinute: 1320, endsMinute: 240 })),
  ],
  closures: [{ from: dayOf('2026-05-14'), to: dayOf('2026-05-14') }],
  peaks: [],
}
const hours = (from: string, to: string) => hoursInShifts(calendar, Date.parse(from), Date.parse(to))

describe('hours in shifts', () => {
  it.each([
    ['a day', '2026-05-04T03:00:00Z', '2026-05-04T13:00:00Z', 8],
    ['over a closure: 2 h on Wednesday, 2 h on Friday', '2026-05-13T10:00:00Z', '2026-05-15T06:00:00Z', 4],
    ['from inside a night shift', '2026-05-16T00:30:00Z', '2026-05-16T12:00:00Z', 1.5],
    ['outside all shifts', '2026-05-10T06:00:00Z', '2026-05-10T20:00:00Z', 0],
    ['the night of 28 March 2026, whose hour from 2 to 3 is skipped: 5 h', '2026-03-28T20:00:00Z', '2026-03-29T06:00:00Z', 5],
    ['the night of 24 October 2026, whose hour from 2 to 3 comes twice: 7 h', '2026-10-24T18:00:00Z', '2026-10-25T06:00:00Z', 7],
  ])('%s', (_what, from, to, wanted) => expect(hours(from, to)).toBe(wanted))

  it('without shifts there are none to count', () => expect(hoursInShifts({ ...calendar, shifts: [] }, 0, 1)).toBeNull())

  it('agree with looking at the clock every half hour of a year', () => {
    const year = Date.parse('2026-01-01T00:00:00Z')
    const moment = fc.integer({ min: 0, max: 365 * 48 }).map((half) => year + half * 1_800_000)
    const inShift = (instantMs: number): boolean => {
      const local = instantToLocal(calendar.zone, instantMs)
      const day = dayOf(local.slice(0, 10))
      const minute = Number(local.slice(11, 13)) * 60 + Number(local.slice(14, 16))
      const open = (each: number): boolean => each !== dayOf('2026-05-14')
      const weekday = (each: number): number => ((each + 3) % 7) + 1
      return calendar.shifts.some(
        ({ weekday: wanted, startsMinute, endsMinute }) =>
          (weekday(day) === wanted && open(day) && minute >= startsMinute && (endsMinute < startsMinute || minute < endsMinute)) ||
          (endsMinute < startsMinute && weekday(day - 1) === wanted && open(day - 1) && minute < endsMinute),
      )
    }
    fc.assert(
      fc.property(moment, fc.integer({ min: 0, max: 480 }), (from, halves) => {
        let counted = 0
        for (let half = 0; half < halves; half++) if (inShift(from + half * 1_800_000)) counted += 0.5
        expect(hoursInShifts(calendar, from, from + halves * 1_800_000)).toBe(counted)
      }),
      { numRuns: 60 },
    )
  })

  it('are ascending stretches', () => {
    const found = shiftsWithin(calendar, Date.parse('2026-05-01T00:00:00Z'), Date.parse('2026-06-01T00:00:00Z'))
    for (const [index, { from, to }] of found.entries()) expect(from < to && from >= (found[index - 1]?.to ?? 0)).toBe(true)
  })
})

const HOUR = 3_600_000
const week = { from: 0, to: 168 * HOUR }
const history = (machineId: string, stoppages: readonly [number, number | null, boolean?][], inService = [week]): MachineHistory => ({
  machineId,
  inService,
  stoppages: stoppages.map(([from, to, planned = false]) => ({ failedMs: from * HOUR, backMs: to === null ? null : to * HOUR, planned })),
})

describe('review of machines', () => {
  it('by hand: a week with two failures (3 h, and open for the last 8 h) and 4 h planned', () => {
    const [figures] = reviewMachines(
      [
        history('a', [
          [10, 13],
          [50, 54, true],
          [160, null],
        ]),
      ],
      week,
    )
    expect(figures).toMatchObject({
      hoursObserved: 168,
      hoursStopped: 15,
      hoursStoppedUnplanned: 11,
      planned: 1,
      unplanned: 2,
      plannedShare: 1 / 3,
      availability: 1 - 15 / 168,
    })
    expect(figures?.between?.mtbf).toBe(84)
    // (10 + 160 − 168) / (168 √(2/12)) = 0.02916
    expect(figures?.trend?.statistic).toBeCloseTo(0.0291605, 6)
  })

  it('counts only service: in service for the second half, stopped before it', () => {
    const [figures] = reviewMachines(
      [
        history(
          'a',
          [
            [20, 90],
            [100, 104],
          ],
          [{ from: 84 * HOUR, to: 300 * HOUR }],
        ),
      ],
      week,
    )
    expect(figures).toMatchObject({ hoursObserved: 84, hoursStopped: 74, unplanned: 2, availability: 1 - 10 / 84 })
  })

  it('a stoppage from before the period adds hours, not a failure', () => {
    const [figures] = reviewMachines([history('a', [[-10, 2]])], week)
    expect(figures).toMatchObject({ unplanned: 0, planned: 0, hoursStopped: 2, plannedShare: null, trend: null })
    expect(figures?.between).toMatchObject({ mtbf: null, upper: null })
  })

  it('never in service: nothing to divide by', () => {
    const [figures] = reviewMachines([history('a', [[0, 1]], [])], week)
    expect(figures).toMatchObject({ hoursObserved: 0, between: null, availability: null, trend: null, besideFleet: null })
  })

  it('the longest still first, and a machine that fails ten times among quiet ones is named', () => {
    const busy = history(
      'c',
      Array.from({ length: 10 }, (_, index): [number, number] => [index * 16, index * 16 + 1]),
    )
    const found = reviewMachines([history('a', []), history('b', [[3, 4]]), busy, ...'defgh'.split('').map((id) => history(id, []))], week)
    expect(found.map(({ machineId }) => machineId).slice(0, 3)).toEqual(['c', 'b', 'a'])
    expect(found.map(({ besideFleet }) => besideFleet?.worseThanFleet).slice(0, 3)).toEqual([true, false, false])
  })
})
