/**
 * Local dates as whole numbers: days since 1970-01-01 in the proleptic Gregorian calendar.
 * Conversion after Howard Hinnant, 'chrono-compatible low-level date algorithms' (days_from_civil, civil_from_days).
 */
import type { Day } from '../model.js'

export interface CivilDate {
  year: number
  /** 1..12 */
  month: number
  /** 1..31 */
  date: number
}

export function dayFromCivil(year: number, month: number, date: number): Day {
  const shifted = month <= 2 ? year - 1 : year
  const era = Math.floor(shifted / 400)
  const yearOfEra = shifted - era * 400
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + date - 1
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear
  return era * 146_097 + dayOfEra - 719_468
}

export function civilFromDay(day: Day): CivilDate {
  const shifted = day + 719_468
  const era = Math.floor(shifted / 146_097)
  const dayOfEra = shifted - era * 146_097
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36_524) - Math.floor(dayOfEra / 146_096)) / 365,
  )
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100))
  const shiftedMonth = Math.floor((5 * dayOfYear + 2) / 153)
  const month = shiftedMonth < 10 ? shiftedMonth + 3 : shiftedMonth - 9
  return {
    year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0),
    month,
    date: dayOfYear - Math.floor((153 * shiftedMonth + 2) / 5) + 1,
  }
}

export function daysInMonth(year: number, month: number): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31
}

/**
 * @param text 'YYYY-MM-DD'
 * @throws RangeError for anything that is no date of the calendar
 */
export function dayOf(text: string): Day {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text)
  const [year, month, date] = match ? match.slice(1).map(Number) : [0, 0, 0]
  if (!match || month! < 1 || month! > 12 || date! < 1 || date! > daysInMonth(year!, month!))
    throw new RangeError(`'${text}' is no date: it must be a day of the calendar such as 2026-05-12`)
  return dayFromCivil(year!, month!, date!)
}

const pad = (value: number, length: number): string => String(value).padStart(length, '0')

/** @returns 'YYYY-MM-DD' */
export function dateOf(day: Day): string {
  const { year, month, date } = civilFromDay(day)
  return `${pad(year, 4)}-${pad(month, 2)}-${pad(date, 2)}`
}

/** ISO 8601: Monday = 1 … Sunday = 7. Day 0 was a Thursday. */
export function isoWeekday(day: Day): number {
  const fromMonday = (day + 3) % 7
  return (fromMonday < 0 ? fromMonday + 7 : fromMonday) + 1
}

/**
 * Months from an anchor's own date, clamped to the month's last day: never counted from an earlier result,
 * so points do not creep (31 Aug, 30 Sep, 31 Oct).
 */
export function addMonthsClamped(anchor: Day, months: number): Day {
  const { year, month, date } = civilFromDay(anchor)
  const index = year * 12 + (month - 1) + months
  const toYear = Math.floor(index / 12)
  const toMonth = index - toYear * 12 + 1
  return dayFromCivil(toYear, toMonth, Math.min(date, daysInMonth(toYear, toMonth)))
}

export function firstOfMonth(day: Day): Day {
  const { year, month } = civilFromDay(day)
  return dayFromCivil(year, month, 1)
}

export function lastOfMonth(day: Day): Day {
  const { year, month } = civilFromDay(day)
  return dayFromCivil(year, month, daysInMonth(year, month))
}

/** ISO 8601 week: year and number; week 1 holds the year's first Thursday. */
export function isoWeek(day: Day): { year: number; week: number } {
  const thursday = day - isoWeekday(day) + 4
  const { year } = civilFromDay(thursday)
  return { year, week: 1 + Math.floor((thursday - dayFromCivil(year, 1, 1)) / 7) }
}
