import { dateOf, dayOf, instantToLocalDate, isoWeekday, localToInstant } from '@tapewarden/scheduling'

export interface WarehouseHours {
  zone: string
  /** ISO weekday; 'HH:mm' or with seconds. A shift that ends at or before its start ends on the next day. */
  shifts: readonly { weekday: number; starts: string; ends: string }[]
  /** Local dates, both ends included. */
  closures: readonly { from: string; to: string }[]
}

/** Two instants, milliseconds since 1970; the second is not in it. */
export interface Span {
  from: number
  to: number
}

export interface LocalMoment {
  /** 'YYYY-MM-DD' in the warehouse. */
  today: string
  /** Minutes since the working hours began, where they hold now; null outside them. */
  minutesOpen: number | null
}

/** Used where a warehouse has named no shifts at all yet: assumption. */
const USUAL_DAY = { starts: '08:00', ends: '17:00' }

export function dayAfter(day: string, days = 1): string {
  return dateOf(dayOf(day) + days)
}

/** The instant of a wall time of a local day; '24:00' is the next day's midnight. RFC 5545 where clocks change. */
export function wallInstant(zone: string, day: string, time: string): number {
  const at = time.slice(0, 5)
  return at === '24:00' ? localToInstant(zone, `${dayAfter(day)}T00:00`) : localToInstant(zone, `${day}T${at}`)
}

/**
 * The working hours of one local day: from the first start to the last end of its shifts; what runs past midnight ends
 * there, so that nobody is written to in the night after. null on a day without a shift and on a closed day.
 */
export function workingSpan({ zone, shifts, closures }: WarehouseHours, day: string): Span | null {
  if (closures.some(({ from, to }) => from <= day && day <= to)) return null
  const weekday = isoWeekday(dayOf(day))
  const own = shifts.length === 0 && weekday <= 5 ? [USUAL_DAY] : shifts.filter((shift) => shift.weekday === weekday)
  if (own.length === 0) return null
  const starts = own.map((shift) => shift.starts.slice(0, 5)).sort()[0] as string
  const ends = own.map((shift) => (shift.ends.slice(0, 5) > shift.starts.slice(0, 5) ? shift.ends.slice(0, 5) : '24:00')).sort()
  const span = { from: wallInstant(zone, day, starts), to: wallInstant(zone, day, ends[ends.length - 1] as string) }
  return span.from < span.to ? span : null
}

/** Which day it is in the warehouse, and for how long its working hours have held. */
export function localMoment(hours: WarehouseHours, now: Date): LocalMoment {
  const today = instantToLocalDate(hours.zone, now.getTime())
  const span = workingSpan(hours, today)
  const open = span !== null && span.from <= now.getTime() && now.getTime() < span.to
  return { today, minutesOpen: open ? Math.floor((now.getTime() - span.from) / 60_000) : null }
}

const LOOKS_DAYS_AHEAD = 400

/** Now, where the working hours hold; else when they next begin. null where none come within 400 days. */
export function nextWorkingInstant(hours: WarehouseHours, now: Date): Date | null {
  let day = instantToLocalDate(hours.zone, now.getTime())
  for (let ahead = 0; ahead < LOOKS_DAYS_AHEAD; ahead++, day = dayAfter(day)) {
    const span = workingSpan(hours, day)
    if (span && span.to > now.getTime()) return new Date(Math.max(span.from, now.getTime()))
  }
  return null
}
