/** Rules 1, 8, 9, 10, 11, 13, 18 by hand, in the calendar of the worked cases (a 'no visits' peak 15 Nov to 29 Dec 2026). */
import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { careOf, isOpenDay, makeDayTable, openDayAfter, openDayBefore, workingDaysBetween } from '../calendar/day-table.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dateOf, dayOf, isoWeekday } from '../time/day.js'
import { checkPutOff, checkSkip } from './decisions.js'
import { isPaused, urgentOn } from './escalation.js'
import { fractionOf, safetyLookDueOn, smallCareDueOn, spreadLookDueOn } from './first-look.js'
import { lastWeekSaidOn, monthDays } from './monthly.js'
import { lateFromDay, opensToday, shiftToOpenDay } from './shift.js'

const table = makeDayTable(WORKED_CASES_CALENDAR, dayOf('2026-01-01'), dayOf('2028-12-31'))
const text = (day: number | null): string | null => (day === null ? null : dateOf(day))
const shift = (likely: string, more: Partial<Parameters<typeof shiftToOpenDay>[1]> = {}): string | null =>
  text(
    shiftToOpenDay(table, {
      likelyOn: dayOf(likely),
      care: 'long',
      today: dayOf('2026-10-01'),
      lastDoneOn: null,
      lengthDays: null,
      hardLimitOn: null,
      safetyCheck: false,
      ...more,
    }),
  )

describe('open days (rule 1)', () => {
  it('no visits bars work of technicians, short care only what takes over 15 minutes, neither a round', () => {
    const short = makeDayTable(
      {
        ...WORKED_CASES_CALENDAR,
        peaks: [{ from: dayOf('2026-11-15'), to: dayOf('2026-12-29'), usageMultiplier: 2, bars: 'short_care_only' }],
      },
      dayOf('2026-11-01'),
      dayOf('2026-12-31'),
    )
    const day = dayOf('2026-12-01')
    expect((['round', 'short', 'long'] as const).map((care) => isOpenDay(table, day, care))).toEqual([true, false, false])
    expect((['round', 'short', 'long'] as const).map((care) => isOpenDay(short, day, care))).toEqual([true, true, false])
    expect((['round', 'short', 'long'] as const).map((care) => isOpenDay(table, dayOf('2026-12-25'), care))).toEqual([false, false, false])
  })

  it('a round is outside care by instructed people; 15 minutes is short', () => {
    expect(careOf({ reach: 'outside', skill: 'instructed', minutes: 30 })).toBe('round')
    expect(careOf({ reach: 'cover_off', skill: 'technician', minutes: 15 })).toBe('short')
    expect(careOf({ reach: 'outside', skill: 'technician', minutes: 15.5 })).toBe('long')
  })

  it('the nearest open day before and after lie on their side and nothing open lies between', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: dayOf('2026-02-01'), max: dayOf('2028-11-01') }),
        fc.constantFrom('round' as const, 'short' as const, 'long' as const),
        (day, care) => {
          const before = openDayBefore(table, day, care, table.from)!
          const after = openDayAfter(table, day, care, table.to)!
          expect(isOpenDay(table, before, care) && isOpenDay(table, after, care)).toBe(true)
          for (let between = before + 1; between < after; between++)
            if (between !== day) expect(isOpenDay(table, between, care)).toBe(false)
        },
      ),
    )
  })
})

describe('shift (rule 9)', () => {
  it.each([
    ['an open day stays', '2026-10-20', {}, '2026-10-20'],
    ['a Saturday moves to the Friday before', '2026-10-24', {}, '2026-10-23'],
    ['in the peak to the last day before it', '2026-12-10', {}, '2026-11-13'],
    ['not before today, then after it', '2026-12-10', { today: dayOf('2026-11-16') }, '2026-12-30'],
    ['not before half the interval', '2026-12-10', { lastDoneOn: dayOf('2026-11-10'), lengthDays: 30 }, '2026-12-30'],
    ['after it only up to the hard limit', '2026-12-10', { today: dayOf('2026-11-16'), hardLimitOn: dayOf('2026-12-29') }, null],
    ['a safety check never later', '2026-12-10', { today: dayOf('2026-11-16'), safetyCheck: true }, null],
    ['a past Sunday, seen on a Monday, to that Monday', '2026-10-18', { today: dayOf('2026-10-19') }, '2026-10-19'],
  ])('%s', (_, likely, more, expected) => expect(shift(likely, more)).toBe(expected))

  it('late the day after the window; after the shifted date where no open day is left in it; a safety check after its date', () => {
    const dates = { nominalOn: dayOf('2026-12-10'), dueOn: dayOf('2026-11-13'), windowTo: dayOf('2026-12-28'), safetyCheck: false }
    expect(text(lateFromDay(table, 'long', dates))).toBe('2026-11-14')
    expect(text(lateFromDay(table, 'round', dates))).toBe('2026-12-29')
    expect(text(lateFromDay(table, 'long', { ...dates, windowTo: dayOf('2026-12-31') }))).toBe('2027-01-01')
    expect(text(lateFromDay(table, 'long', { ...dates, dueOn: dates.nominalOn }))).toBe('2026-12-29')
    expect(text(lateFromDay(table, 'long', { ...dates, safetyCheck: true }))).toBe('2026-12-11')
  })
})

describe('opening and passing on (rules 8, 10)', () => {
  it.each([
    [10, 12, 7, 0, 3, true],
    [10, 12, 7, 0, 2, false],
    [10, 8, 7, 0, 1, true],
    [10, 12, 7, 21, -11, true],
    [10, 12, 7, 21, -12, false],
  ])('early %i, due %i, lead %i, parts %i, today %i: %s', (early, due, lead, parts, today, opens) => {
    expect(opensToday(today, early, due, lead, parts)).toBe(opens)
  })

  it('the urgent day is the last working day before the last open day up to the limit', () => {
    const urgent = (limit: string, notBefore: string) => {
      const found = urgentOn(table, 'long', dayOf(limit), dayOf(notBefore))
      return found && [text(found.sayOn), text(found.doBy)]
    }
    expect(urgent('2026-12-04', '2026-10-01')).toEqual(['2026-11-12', '2026-11-13'])
    expect(urgent('2026-10-19', '2026-10-01')).toEqual(['2026-10-16', '2026-10-19'])
    expect(urgent('2026-12-20', '2026-11-20')).toBeNull()
  })

  it('pauses under way until three working days passed without an entry; a weekend is none', () => {
    const state = { underWaySince: dayOf('2026-10-08'), lastEntryOn: dayOf('2026-10-08') }
    const paused = (date: string): boolean => isPaused(table, dayOf(date), state)
    expect(['2026-10-09', '2026-10-12', '2026-10-13'].map(paused)).toEqual([true, true, false])
    expect(isPaused(table, dayOf('2026-10-09'), { underWaySince: null, lastEntryOn: null })).toBe(false)
    expect(workingDaysBetween(table, dayOf('2026-10-09'), dayOf('2026-10-12'))).toBe(1)
  })
})

describe('the month (rule 6)', () => {
  it('opens on its first working day, counts as due on its last, says one line in its last seven days', () => {
    const august = monthDays(table, dayOf('2026-08-15'))
    expect([august.opensOn, august.dueOn, lastWeekSaidOn(table, august)].map((day) => text(day ?? null))).toEqual([
      '2026-08-03',
      '2026-08-31',
      '2026-08-25',
    ])
    const december = monthDays(table, dayOf('2026-12-31'))
    expect([december.opensOn, december.dueOn].map((day) => text(day ?? null))).toEqual(['2026-12-01', '2026-12-31'])
  })
})

describe('decisions (rules 11, 13)', () => {
  const of = { safetyCheck: false, monthlyListed: false, care: 'long' as const, hardLimitOn: dayOf('2026-12-04') }
  const asked = {
    until: dayOf('2026-11-10'),
    today: dayOf('2026-10-20'),
    role: 'manager' as const,
    reason: 'no hands',
    newHardLimitOn: null,
  }
  it.each([
    ['a manager, to an open day before the limit', of, {}, 'allowed'],
    ['a technician', of, { role: 'technician' as const }, 'NOT_A_MANAGER'],
    ['without a reason', of, { reason: ' ' }, 'NO_REASON'],
    ['to today', of, { until: dayOf('2026-10-20') }, 'IN_THE_PAST'],
    ['to a Sunday', of, { until: dayOf('2026-11-08') }, 'NO_OPEN_DAY'],
    ['into the peak', of, { until: dayOf('2026-11-20') }, 'NO_OPEN_DAY'],
    ['past the limit by a manager', of, { until: dayOf('2026-12-30') }, 'NEEDS_ADMINISTRATOR'],
    [
      'past the limit by an administrator without a new one',
      of,
      { until: dayOf('2026-12-30'), role: 'administrator' as const },
      'NEEDS_NEW_LIMIT',
    ],
    [
      'past the limit by an administrator with a new one',
      of,
      { until: dayOf('2026-12-30'), role: 'administrator' as const, newHardLimitOn: dayOf('2027-01-15') },
      'allowed',
    ],
    ['a safety check', { ...of, safetyCheck: true }, { role: 'administrator' as const }, 'SAFETY_CHECK'],
    ['monthly care', { ...of, monthlyListed: true }, {}, 'MONTHLY_CARE'],
  ])('put off: %s', (_, occurrence, more, expected) => {
    const decided = checkPutOff(table, occurrence, { ...asked, ...more })
    expect(decided.allowed ? 'allowed' : decided.code).toBe(expected)
  })

  it.each([
    ['a manager with a reason', of, {}, 'allowed'],
    ['a safety check', { ...of, safetyCheck: true }, { role: 'administrator' as const }, 'SAFETY_CHECK'],
    ['past the limit by a manager', of, { today: dayOf('2026-12-05') }, 'NEEDS_ADMINISTRATOR'],
    ['past the limit by an administrator', of, { today: dayOf('2026-12-05'), role: 'administrator' as const }, 'allowed'],
    ['an instructed person', of, { role: 'instructed' as const }, 'NOT_A_MANAGER'],
  ])('skip: %s', (_, occurrence, more, expected) => {
    const decided = checkSkip(occurrence, { today: dayOf('2026-10-20'), role: 'manager', reason: 'new machine comes', ...more })
    expect(decided.allowed ? 'allowed' : decided.code).toBe(expected)
  })
})

describe('first looks (rule 18)', () => {
  it('names spread evenly over [0, 1)', () => {
    const counts = new Array<number>(10).fill(0)
    for (let index = 0; index < 10_000; index++) counts[Math.floor(10 * fractionOf(`machine ${index} chain`))]! += 1
    // 1000 each, standard deviation 30: five of them either way.
    for (const count of counts) expect(Math.abs(count - 1000)).toBeLessThan(150)
  })

  it('the safety look in the first whole week, small care within four weeks by line', () => {
    expect(text(safetyLookDueOn(table, dayOf('2026-11-28')))).toBe('2026-12-04')
    expect(text(safetyLookDueOn(table, dayOf('2026-11-30')))).toBe('2026-12-04')
    for (const line of ['A', 'B', 'C', 'D', '']) {
      const day = smallCareDueOn(table, dayOf('2026-11-28'), line)
      expect(day).toBeLessThanOrEqual(dayOf('2026-12-24'))
      expect(isoWeekday(day)).toBeLessThanOrEqual(5)
    }
  })

  it('a look whose day has passed takes a turn within four weeks that does not move along with today', () => {
    const asked = { from: dayOf('2026-01-05'), intervalDays: 90, stretch: 1, name: 'm chain', care: 'round' as const, alreadyOpen: null }
    const due = spreadLookDueOn(table, { ...asked, today: dayOf('2026-08-03') })
    expect(due).toBeGreaterThanOrEqual(dayOf('2026-08-03'))
    expect(due).toBeLessThanOrEqual(dayOf('2026-08-03') + 31)
    for (let today = dayOf('2026-08-03'); today <= due - 3; today++) expect(spreadLookDueOn(table, { ...asked, today })).toBe(due)
  })
})
