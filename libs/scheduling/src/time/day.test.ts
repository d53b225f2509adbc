import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { addDays, getISOWeek, getISOWeekYear } from 'date-fns'
import { Temporal } from 'temporal-polyfill'
import { addMonthsClamped, civilFromDay, dateOf, dayFromCivil, dayOf, isoWeek, isoWeekday, lastOfMonth } from './day.js'

describe('days', () => {
  it('begin on Thursday 1 January 1970', () => {
    expect(dayOf('1970-01-01')).toBe(0)
    expect(isoWeekday(0)).toBe(4)
  })

  it('agree with Temporal on every part of a date, there and back', () => {
    fc.assert(
      fc.property(fc.integer({ min: -200_000, max: 200_000 }), (day) => {
        const date = Temporal.PlainDate.from('1970-01-01').add({ days: day })
        expect(civilFromDay(day)).toEqual({ year: date.year, month: date.month, date: date.day })
        expect(dayFromCivil(date.year, date.month, date.day)).toBe(day)
        expect(isoWeekday(day)).toBe(date.dayOfWeek)
        expect(isoWeek(day)).toEqual({ year: date.yearOfWeek, week: date.weekOfYear })
      }),
    )
  })

  it('agree with date-fns on weeks of the year', () => {
    for (let day = dayOf('2020-12-20'); day < dayOf('2027-01-20'); day += 1) {
      const date = addDays(new Date(1970, 0, 1), day)
      expect(isoWeek(day)).toEqual({ year: getISOWeekYear(date), week: getISOWeek(date) })
    }
  })

  it('refuse what is no day of the calendar', () => {
    for (const text of ['2026-02-29', '2026-13-01', '2026-00-10', '2026-1-1', 'tomorrow', '']) expect(() => dayOf(text)).toThrow(RangeError)
    expect(dateOf(dayOf('2028-02-29'))).toBe('2028-02-29')
  })

  it('count months from the anchor, clamped, without creeping (rule 3: monthly from 31 Aug 2026)', () => {
    const anchor = dayOf('2026-08-31')
    const dates = [1, 2, 3, 4, 5, 6, 7].map((months) => dateOf(addMonthsClamped(anchor, months)))
    expect(dates).toEqual(['2026-09-30', '2026-10-31', '2026-11-30', '2026-12-31', '2027-01-31', '2027-02-28', '2027-03-31'])
  })

  it('agree with Temporal on months from any anchor', () => {
    fc.assert(
      fc.property(fc.integer({ min: -50_000, max: 50_000 }), fc.integer({ min: -500, max: 500 }), (day, months) => {
        const wanted = Temporal.PlainDate.from(dateOf(day)).add({ months }).toString()
        expect(dateOf(addMonthsClamped(day, months))).toBe(wanted)
      }),
    )
  })

  it('know the last day of a month', () => {
    expect(dateOf(lastOfMonth(dayOf('2028-02-03')))).toBe('2028-02-29')
  })
})
