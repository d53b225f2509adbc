/** Whether a day fits a rule's BYMONTH, BYWEEKNO, BYYEARDAY, BYMONTHDAY and BYDAY. */
import type { Day } from '../../model.js'
import { type CivilDate, civilFromDay, dayFromCivil, daysInMonth, isoWeekday } from '../day.js'
import type { RecurrenceRule, WeekdayPart } from './rule.js'

export type DayFilter = (day: Day) => boolean

/** Position from the front and, as a negative number, from the end of `length` places. */
const fits = (wanted: readonly number[], position: number, length: number): boolean =>
  wanted.includes(position) || wanted.includes(position - length - 1)

const firstOfYear = (year: number): Day => dayFromCivil(year, 1, 1)

/** Day on which week 1 begins: the first week with at least four days in the year. */
function firstWeek(year: number, weekStart: number): Day {
  const january = firstOfYear(year)
  const into = (isoWeekday(january) - weekStart + 7) % 7
  return into <= 3 ? january - into : january - into + 7
}

/** Days at a year's edges may belong to a week of the year beside it. */
function fitsWeek(wanted: readonly number[], day: Day, year: number, weekStart: number): boolean {
  const own = [year + 1, year, year - 1].find((each) => firstWeek(each, weekStart) <= day) as number
  const first = firstWeek(own, weekStart)
  return fits(wanted, Math.floor((day - first) / 7) + 1, (firstWeek(own + 1, weekStart) - first) / 7)
}

function fitsDay({ weekday, ordinal }: WeekdayPart, day: Day, { year, month, date }: CivilDate, withinMonth: boolean): boolean {
  if (isoWeekday(day) !== weekday) return false
  if (ordinal === null) return true
  const place = withinMonth ? date : day - firstOfYear(year) + 1
  const length = withinMonth ? daysInMonth(year, month) : firstOfYear(year + 1) - firstOfYear(year)
  return ordinal > 0 ? Math.ceil(place / 7) === ordinal : Math.ceil((length - place + 1) / 7) === -ordinal
}

/**
 * What the rule leaves open comes from its start (RFC 5545, 3.3.10): the weekday of a week, the date of a month, the
 * month of a year.
 */
export function dayFilter(rule: RecurrenceRule, start: Day): DayFilter {
  const { frequency, byWeekNumber, byYearDay, weekStart } = rule
  const from = civilFromDay(start)
  const open = byWeekNumber.length === 0 && byYearDay.length === 0 && rule.byMonthDay.length === 0 && rule.byDay.length === 0
  const byDay =
    (open && frequency === 'WEEKLY') || (byWeekNumber.length > 0 && rule.byDay.length + rule.byMonthDay.length + byYearDay.length === 0)
      ? [{ weekday: isoWeekday(start), ordinal: null }]
      : rule.byDay
  const byMonthDay = open && (frequency === 'MONTHLY' || frequency === 'YEARLY') ? [from.date] : rule.byMonthDay
  const byMonth = open && frequency === 'YEARLY' && rule.byMonth.length === 0 ? [from.month] : rule.byMonth
  const withinMonth = frequency === 'MONTHLY' || rule.byMonth.length > 0
  return (day) => {
    const civil = civilFromDay(day)
    const { year, month, date } = civil
    if (byMonth.length > 0 && !byMonth.includes(month)) return false
    if (byMonthDay.length > 0 && !fits(byMonthDay, date, daysInMonth(year, month))) return false
    if (byDay.length > 0 && !byDay.some((part) => fitsDay(part, day, civil, withinMonth))) return false
    if (byYearDay.length > 0 && !fits(byYearDay, day - firstOfYear(year) + 1, firstOfYear(year + 1) - firstOfYear(year))) return false
    return byWeekNumber.length === 0 || fitsWeek(byWeekNumber, day, year, weekStart)
  }
}
