/** A recurrence rule in parts. Source: RFC 5545, 3.3.10. */

/** From the longest to the shortest. */
export const FREQUENCIES = ['YEARLY', 'MONTHLY', 'WEEKLY', 'DAILY', 'HOURLY', 'MINUTELY', 'SECONDLY'] as const
export type Frequency = (typeof FREQUENCIES)[number]

/** In the order of ISO 8601: MO = 1 … SU = 7. */
export const WEEKDAYS = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU'] as const

export interface WeekdayPart {
  /** 1..7, Monday first. */
  weekday: number
  /** Which one of the month or year, from its end when negative; null: all. */
  ordinal: number | null
}

/** The end of a rule, itself included: an instant, or a local time ('YYYY-MM-DDTHH:mm:ss'). */
export type Until = { instantMs: number } | { local: string }

export interface RecurrenceRule {
  frequency: Frequency
  /** ≥ 1 */
  interval: number
  count: number | null
  until: Until | null
  /** Empty lists mean: the part is not there. */
  byMonth: readonly number[]
  byWeekNumber: readonly number[]
  byYearDay: readonly number[]
  byMonthDay: readonly number[]
  byDay: readonly WeekdayPart[]
  byHour: readonly number[]
  byMinute: readonly number[]
  bySecond: readonly number[]
  bySetPosition: readonly number[]
  /** 1..7, Monday first. */
  weekStart: number
}
