/** Time within a warehouse's shifts, by its clocks: a night on which they change has an hour more or less. */
import { type Stretch } from '@tapewarden/reliability'
import type { Day, WarehouseCalendar } from '../model.js'
import { dateOf, isoWeekday } from '../time/day.js'
import { instantToDay, localToInstant } from '../time/instant.js'

const HOUR_MS = 3_600_000
const MINUTES_A_DAY = 1440

const two = (value: number): string => String(value).padStart(2, '0')

/** A minute of the day may lie on a later day. */
function instantAt(zone: string, day: Day, minute: number): number {
  const onDay = day + Math.floor(minute / MINUTES_A_DAY)
  const clock = minute % MINUTES_A_DAY
  return localToInstant(zone, `${dateOf(onDay)}T${two(Math.floor(clock / 60))}:${two(clock % 60)}`)
}

/**
 * Shifts that touch the interval, as stretches of instants, ascending; overlapping shifts are not joined. A shift belongs to
 * the day it begins on: on a closed day it does not take place.
 */
export function shiftsWithin(calendar: WarehouseCalendar, fromMs: number, toMs: number): Stretch[] {
  const { zone, shifts, closures } = calendar
  const found: Stretch[] = []
  for (let day = instantToDay(zone, fromMs) - 1, last = instantToDay(zone, toMs); day <= last; day++) {
    if (closures.some((closure) => closure.from <= day && day <= closure.to)) continue
    for (const { weekday, startsMinute, endsMinute } of shifts) {
      if (weekday !== isoWeekday(day)) continue
      const ends = endsMinute > startsMinute ? endsMinute : endsMinute + MINUTES_A_DAY
      const stretch = { from: instantAt(zone, day, startsMinute), to: instantAt(zone, day, ends) }
      if (stretch.to > fromMs && stretch.from < toMs) found.push(stretch)
    }
  }
  return found.sort((a, b) => a.from - b.from)
}

/**
 * Hours of [fromMs, toMs] that lie in shifts.
 * @returns null where the warehouse has no shifts
 */
export function hoursInShifts(calendar: WarehouseCalendar, fromMs: number, toMs: number): number | null {
  if (calendar.shifts.length === 0) return null
  const overlaps = shiftsWithin(calendar, fromMs, toMs).map(({ from, to }) => Math.max(0, Math.min(to, toMs) - Math.max(from, fromMs)))
  return overlaps.reduce((sum, overlap) => sum + overlap, 0) / HOUR_MS
}
