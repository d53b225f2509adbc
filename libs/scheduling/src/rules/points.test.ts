/** Points and windows by hand (rules 3, 4, 5); intervals are assumptions, the arithmetic is by a calendar. */
import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { addMonthsClamped, dateOf, dayOf } from '../time/day.js'
import { type Anchor, anchorAfterDone, hardLimitAfter, nextPoint, type SettledOccurrence, windowOf } from './points.js'

const every = (months: number) => ({ kind: 'calendar', months, mode: 'nominal' }) as const
const anchored = (date: string, steps = 0): Anchor => ({ anchorOn: dayOf(date), anchorSteps: steps })
const occurrence = (nominal: string, window: number, due = nominal): SettledOccurrence => ({
  nominalOn: dayOf(nominal),
  dueOn: dayOf(due),
  windowFrom: dayOf(nominal) - window,
  windowTo: dayOf(nominal) + window,
})
const after = (months: number, before: Anchor, done: string, of: SettledOccurrence, overrunCounts = false): string => {
  const anchor = anchorAfterDone(every(months), before, dayOf(done), of, { governed: true, overrunCounts })
  return dateOf(nextPoint(every(months), anchor, dayOf(done)).nominalOn)
}

describe('windows and limits', () => {
  it.each([
    [90, 9, 112],
    [180, 18, 225],
    [360, 36, 450],
    [181, 18, 226],
    [30, 3, 37],
    [31, 3, 38],
    [9, 0, 11],
    [1, 0, 1],
    [365, 36, 456],
  ])('an interval of %i days: window ± %i, hard limit after %i', (length, window, limit) => {
    expect([windowOf(length), hardLimitAfter(length)]).toEqual([window, limit])
  })
})

describe('points', () => {
  it.each([
    ['2026-01-31', 1, '2026-02-28'],
    ['2028-01-31', 1, '2028-02-29'],
    ['2026-08-31', 6, '2027-02-28'],
    ['2026-11-30', 3, '2027-02-28'],
    ['2024-02-29', 12, '2025-02-28'],
    ['2026-12-15', 1, '2027-01-15'],
  ])('%s and %i months: %s', (anchor, months, point) => {
    expect(dateOf(nextPoint(every(months), anchored(anchor), dayOf(anchor)).nominalOn)).toBe(point)
  })

  it('come back to the 31st after a short month', () => {
    expect(dateOf(nextPoint(every(1), anchored('2026-01-31', 1), dayOf('2026-02-28')).nominalOn)).toBe('2026-03-31')
  })

  it('in days count from the settled point', () => {
    const days = { kind: 'calendar', days: 45, mode: 'nominal' } as const
    expect(dateOf(nextPoint(days, anchored('2026-01-10'), dayOf('2026-01-10')).nominalOn)).toBe('2026-02-24')
  })
})

describe('what follows', () => {
  const january = anchored('2026-01-10')
  const july = occurrence('2026-07-10', 18)
  it('on the first and last day of the window counts from the nominal point, a day beside it from the actual one', () => {
    expect(after(6, january, '2026-06-22', july)).toBe('2027-01-10')
    expect(after(6, january, '2026-07-28', july)).toBe('2027-01-10')
    expect(after(6, january, '2026-06-21', july)).toBe('2026-12-21')
    expect(after(6, january, '2026-07-29', july)).toBe('2027-01-29')
  })

  it('on a shifted date outside the window counts from the nominal point', () => {
    expect(after(6, anchored('2026-06-10'), '2026-11-13', occurrence('2026-12-10', 18, '2026-11-13'))).toBe('2027-06-10')
  })

  it('with the longer interval of a new plan counts twelve months from the point that was kept', () => {
    expect(after(12, january, '2026-07-10', july)).toBe('2027-07-10')
  })

  it('after a skip counts from the point that was done, not from the one that was skipped', () => {
    expect(after(6, january, '2027-01-12', occurrence('2027-01-10', 18))).toBe('2027-07-10')
  })

  it('a point that is no month of the anchor becomes the anchor', () => {
    expect(after(6, january, '2026-09-25', occurrence('2026-09-25', 0))).toBe('2027-03-25')
  })

  it('keeps the 31st through a February that was done in its window', () => {
    const february = after(1, anchored('2026-01-31'), '2026-02-27', occurrence('2026-02-28', 2))
    expect(february).toBe('2026-03-31')
  })

  it('done each time in its window, the n-th point is the anchor and n intervals', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: dayOf('2020-01-01'), max: dayOf('2030-12-31') }),
        fc.constantFrom(1, 3, 6, 12),
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 1, maxLength: 30 }),
        (start, months, jitter) => {
          let anchor: Anchor = { anchorOn: start, anchorSteps: 0 }
          jitter.forEach((share, index) => {
            const { nominalOn, lengthDays } = nextPoint(every(months), anchor, start)
            expect(nominalOn).toBe(addMonthsClamped(start, months * (index + 1)))
            const window = windowOf(lengthDays)
            const doneOn = nominalOn + Math.trunc(share * window)
            const of = { nominalOn, dueOn: nominalOn, windowFrom: nominalOn - window, windowTo: nominalOn + window }
            anchor = anchorAfterDone(every(months), anchor, doneOn, of, { governed: true, overrunCounts: false })
          })
        },
      ),
    )
  })
})
