import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { availabilityFromLog, type LoggedStoppage } from './from-log.js'
import { overlapOf, unionOf } from './intervals.js'

const WEEK = { from: 0, to: 168 }
const failure = (downHour: number, upHour: number | null): LoggedStoppage => ({ kind: 'failure', downHour, upHour })
const planned = (downHour: number, upHour: number | null): LoggedStoppage => ({ kind: 'planned', downHour, upHour })

describe('availability from a log', () => {
  it('by hand: two failures of 3 and 1 h, 4 h planned, in a week', () => {
    expect(availabilityFromLog(WEEK, [failure(10, 13), planned(50, 54), failure(100, 101)])).toEqual({
      calendarHours: 168,
      failures: 2,
      failureDownHours: 4,
      plannedDownHours: 4,
      upHours: 160,
      upHoursPerFailure: 80,
      meanRepairHoursFinished: 2,
      meanDownHoursOpenIncluded: 2,
      availability: 160 / 168,
      availabilityPlannedNotCounted: 164 / 168,
      failuresPer1000UpHours: 12.5,
    })
  })

  it('open, begun before, ending after: hours within the period only, failures begun within', () => {
    const found = availabilityFromLog(WEEK, [failure(-5, 3), failure(160, null), failure(165, 200)])
    expect(found).toMatchObject({ failures: 2, failureDownHours: 3 + 8, meanRepairHoursFinished: null, meanDownHoursOpenIncluded: 5.5 })
  })

  it('down twice at once counts once, as failed', () => {
    expect(availabilityFromLog(WEEK, [failure(10, 20), planned(15, 25), failure(12, 14)])).toMatchObject({
      failureDownHours: 10,
      plannedDownHours: 5,
      upHours: 153,
      failures: 2,
    })
  })

  it('nothing failed, or never up', () => {
    expect(availabilityFromLog(WEEK, [])).toMatchObject({ availability: 1, upHoursPerFailure: null, failuresPer1000UpHours: 0 })
    expect(availabilityFromLog(WEEK, [failure(0, null)])).toMatchObject({ availability: 0, failuresPer1000UpHours: null })
  })

  it('refuses an empty period and an end before its beginning', () => {
    expect(() => availabilityFromLog({ from: 5, to: 5 }, [])).toThrow('to')
    expect(() => availabilityFromLog(WEEK, [failure(5, 4)])).toThrow('stoppages[0].up')
  })

  it('agrees with looking at every hour', () => {
    const stoppage = fc
      .record({
        kind: fc.constantFrom('failure' as const, 'planned' as const),
        downHour: fc.integer({ min: -20, max: 170 }),
        length: fc.integer({ min: 0, max: 40 }),
      })
      .map(({ kind, downHour, length }) => ({ kind, downHour, upHour: length > 35 ? null : downHour + length }))
    fc.assert(
      fc.property(fc.array(stoppage, { maxLength: 8 }), (log) => {
        let [failed, other] = [0, 0]
        for (let hour = 0; hour < 168; hour++) {
          const down = log.filter(({ downHour, upHour }) => downHour <= hour && (upHour ?? 168) > hour)
          if (down.some(({ kind }) => kind === 'failure')) failed += 1
          else if (down.length > 0) other += 1
        }
        const found = availabilityFromLog(WEEK, log)
        expect([found.failureDownHours, found.plannedDownHours, found.upHours]).toEqual([failed, other, 168 - failed - other])
      }),
    )
  })

  it('stretches: union and overlap', () => {
    expect(
      unionOf([
        { from: 3, to: 5 },
        { from: 1, to: 3 },
        { from: 9, to: 9 },
        { from: 7, to: 8 },
      ]),
    ).toEqual([
      { from: 1, to: 5 },
      { from: 7, to: 8 },
    ])
    expect(
      overlapOf(
        [{ from: 0, to: 10 }],
        [
          { from: 2, to: 3 },
          { from: 9, to: 12 },
        ],
      ),
    ).toBe(2)
  })
})
