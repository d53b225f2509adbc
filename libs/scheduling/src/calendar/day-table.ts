/** A warehouse's days, looked up instead of worked out: working days, closures, peaks, and the multiplier of each day. */
import type { Day, PlanTask, WarehouseCalendar } from '../model.js'
import { isoWeekday } from '../time/day.js'

const WORKING = 1
const NO_VISITS = 2
const SHORT_ONLY = 4

/** What a day must be open for: a round of small outside care, a task of at most 15 minutes, or a longer one (rule 1). */
export type Care = 'round' | 'short' | 'long'

export interface DayTable {
  from: Day
  /** Last day of the table. */
  to: Day
  flags: Uint8Array
  /** Usage multiplier of the day; 1 outside peaks. */
  multiplier: Float64Array
}

export function makeDayTable(calendar: WarehouseCalendar, from: Day, to: Day): DayTable {
  const length = to - from + 1
  const flags = new Uint8Array(length)
  const multiplier = new Float64Array(length).fill(1)
  for (let index = 0; index < length; index++) if ((calendar.shiftMinutes[isoWeekday(from + index)] ?? 0) > 0) flags[index] = WORKING
  const each = (range: { from: Day; to: Day }, change: (index: number) => void): void => {
    for (let day = Math.max(range.from, from); day <= Math.min(range.to, to); day++) change(day - from)
  }
  for (const closure of calendar.closures) each(closure, (index) => (flags[index] = 0))
  for (const peak of calendar.peaks) {
    const bar = peak.bars === 'no_visits' ? NO_VISITS : peak.bars === 'short_care_only' ? SHORT_ONLY : 0
    each(peak, (index) => {
      if (flags[index]) flags[index] |= bar
      multiplier[index] = peak.usageMultiplier
    })
  }
  return { from, to, flags, multiplier }
}

export function careOf(task: Pick<PlanTask, 'reach' | 'skill' | 'minutes'>): Care {
  if (task.reach === 'outside' && task.skill === 'instructed') return 'round'
  return task.minutes <= 15 ? 'short' : 'long'
}

function flagsOf(table: DayTable, day: Day): number {
  if (day < table.from || day > table.to) throw new RangeError(`Day ${day} lies outside the calendar table ${table.from}..${table.to}`)
  return table.flags[day - table.from] as number
}

export const isWorkingDay = (table: DayTable, day: Day): boolean => (flagsOf(table, day) & WORKING) !== 0

/** Rule 1: a working day, no closure, and in no peak that bars this care. */
export function isOpenDay(table: DayTable, day: Day, care: Care): boolean {
  const flags = flagsOf(table, day)
  if (!(flags & WORKING)) return false
  if (care === 'round') return true
  return !(flags & NO_VISITS) && (care === 'short' || !(flags & SHORT_ONLY))
}

/** Nearest open day at or before `day`, not before `notBefore`; null where there is none. */
export function openDayBefore(table: DayTable, day: Day, care: Care, notBefore: Day): Day | null {
  for (let at = Math.min(day, table.to); at >= Math.max(notBefore, table.from); at--) if (isOpenDay(table, at, care)) return at
  return null
}

/** Nearest open day at or after `day`, not after `notAfter`; null where there is none. */
export function openDayAfter(table: DayTable, day: Day, care: Care, notAfter: Day): Day | null {
  for (let at = Math.max(day, table.from); at <= Math.min(notAfter, table.to); at++) if (isOpenDay(table, at, care)) return at
  return null
}

export function workingDayBefore(table: DayTable, day: Day): Day | null {
  for (let at = day - 1; at >= table.from; at--) if (isWorkingDay(table, at)) return at
  return null
}

/** Working days after `from` up to and including `to`. */
export function workingDaysBetween(table: DayTable, from: Day, to: Day): number {
  let count = 0
  for (let day = Math.max(from + 1, table.from); day <= Math.min(to, table.to); day++) if (isWorkingDay(table, day)) count++
  return count
}
