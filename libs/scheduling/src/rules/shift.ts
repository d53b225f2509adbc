/** Rules 8 and 9: when an occurrence opens, to which open day it moves, and from when it is late. */
import { type Care, type DayTable, isOpenDay, openDayAfter, openDayBefore } from '../calendar/day-table.js'
import type { Day } from '../model.js'

export interface ShiftAsked {
  likelyOn: Day
  care: Care
  today: Day
  /** null: never done, or without an interval. */
  lastDoneOn: Day | null
  lengthDays: number | null
  hardLimitOn: Day | null
  safetyCheck: boolean
}

/**
 * Rule 9: to the nearest earlier open day, but not before today and not before last done + half the interval;
 * else to the first open day after it, up to the hard limit; a safety check only earlier (rule 7).
 * @returns null where no day serves: it goes to a person
 */
export function shiftToOpenDay(table: DayTable, asked: ShiftAsked): Day | null {
  const { likelyOn, care, today, safetyCheck } = asked
  if (likelyOn >= table.from && likelyOn <= table.to && isOpenDay(table, likelyOn, care)) return likelyOn
  const half = asked.lastDoneOn !== null && asked.lengthDays !== null ? asked.lastDoneOn + Math.ceil(asked.lengthDays / 2) : today
  const earlier = openDayBefore(table, likelyOn, care, Math.max(today, half))
  if (earlier !== null) return earlier
  if (safetyCheck) return null
  return openDayAfter(table, likelyOn + 1, care, asked.hardLimitOn ?? likelyOn + 90)
}

/** Rule 9, last sentence. A safety check has no late side (rule 7): late from the day after its nominal date. */
export function lateFromDay(table: DayTable, care: Care, dates: { nominalOn: Day; dueOn: Day; windowTo: Day; safetyCheck: boolean }): Day {
  if (dates.safetyCheck) return dates.nominalOn + 1
  if (dates.dueOn !== dates.nominalOn && openDayAfter(table, dates.dueOn + 1, care, dates.windowTo) === null) return dates.dueOn + 1
  return dates.windowTo + 1
}

/** Rule 8. */
export function opensToday(today: Day, earlyOn: Day, dueOn: Day, leadDays: number, partsLeadDays: number): boolean {
  return Math.min(earlyOn, dueOn) <= today + Math.max(leadDays, partsLeadDays)
}
