/** Shift minutes of days and of the time between two moments; what a day's use is cut by. */
import { type DayTable, makeDayTable } from '../calendar/day-table.js'
import type { Day, WarehouseCalendar } from '../model.js'
import { isoWeekday } from '../time/day.js'
import type { Moment } from './input.js'

export interface ShiftTable {
  table: DayTable
  calendar: WarehouseCalendar
  /** prefix[i]: shift minutes of days table.from .. table.from + i − 1, closures left out. */
  prefix: Float64Array
}

export function makeShiftTable(calendar: WarehouseCalendar, from: Day, to: Day): ShiftTable {
  const table = makeDayTable(calendar, from, to)
  const prefix = new Float64Array(table.flags.length + 1)
  for (let index = 0; index < table.flags.length; index++) prefix[index + 1] = (prefix[index] as number) + minutesAt(calendar, table, index)
  return { table, calendar, prefix }
}

function minutesAt(calendar: WarehouseCalendar, table: DayTable, index: number): number {
  return ((table.flags[index] as number) & 1) === 0 ? 0 : (calendar.shiftMinutes[isoWeekday(table.from + index)] ?? 0)
}

export function minutesOfDay({ calendar, table }: ShiftTable, day: Day): number {
  const index = day - table.from
  return index < 0 || index >= table.flags.length ? 0 : minutesAt(calendar, table, index)
}

/** Use to expect of a day, up to a common factor: its shift minutes times the peak's multiplier. */
export function weightOfDay(shifts: ShiftTable, day: Day): number {
  const index = day - shifts.table.from
  return minutesOfDay(shifts, day) * (shifts.table.multiplier[index] ?? 1)
}

/** Share of the day's shift minutes that lie before the minute; 0 on a closed day. A night shift belongs to the day it begins on. */
export function shareBefore(shifts: ShiftTable, { day, minute }: Moment): number {
  const total = minutesOfDay(shifts, day)
  if (total === 0) return 0
  let before = 0
  for (const { weekday, startsMinute, endsMinute } of shifts.calendar.shifts) {
    if (weekday !== isoWeekday(day)) continue
    const ends = endsMinute > startsMinute ? endsMinute : endsMinute + 1440
    before += Math.max(0, Math.min(ends, minute) - startsMinute)
  }
  return Math.min(1, before / total)
}

export function minutesBetween(shifts: ShiftTable, from: Moment, to: Moment): number {
  const at = ({ day, minute }: Moment): number => {
    const index = Math.max(0, Math.min(shifts.prefix.length - 1, day - shifts.table.from))
    return (shifts.prefix[index] as number) + shareBefore(shifts, { day, minute }) * minutesOfDay(shifts, day)
  }
  return Math.max(0, at(to) - at(from))
}

export const isBefore = (a: Moment, b: Moment): boolean => a.day < b.day || (a.day === b.day && a.minute < b.minute)

/** Share of the day's shift minutes that lie inside [from, to). */
export function shareInside(shifts: ShiftTable, day: Day, from: Moment | null, to: Moment | null): number {
  if ((from && from.day > day) || (to && to.day < day)) return 0
  const begin = from && from.day === day ? shareBefore(shifts, from) : 0
  const end = to && to.day === day ? shareBefore(shifts, to) : 1
  return Math.max(0, end - begin)
}
