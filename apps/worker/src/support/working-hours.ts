import { dayOf, instantToLocalDate, instantToMinute, isoWeekday } from '@tapewarden/scheduling'

export interface WarehouseHours {
  zone: string
  /** ISO weekday; 'HH:mm' or with seconds. A shift that ends at or before its start ends on the next day. */
  shifts: readonly { weekday: number; starts: string; ends: string }[]
  /** Local dates, both ends included. */
  closures: readonly { from: string; to: string }[]
}

export interface LocalMoment {
  /** 'YYYY-MM-DD' in the warehouse. */
  today: string
  /** Minutes since the working hours began, where they hold now; null outside them. */
  minutesOpen: number | null
}

function minuteOf(time: string): number {
  const [hours, minutes] = time.split(':').map(Number)
  return (hours ?? 0) * 60 + (minutes ?? 0)
}

/** Used where a warehouse has named no shifts at all yet: assumption. */
const USUAL_DAY = { starts: '08:00', ends: '17:00' }

/**
 * Mail goes out between the first start and the last end of the day's shifts; what runs past midnight ends there,
 * so that nobody is written to in the night after.
 */
export function localMoment({ zone, shifts, closures }: WarehouseHours, now: Date): LocalMoment {
  const today = instantToLocalDate(zone, now.getTime())
  if (closures.some(({ from, to }) => from <= today && today <= to)) return { today, minutesOpen: null }
  const weekday = isoWeekday(dayOf(today))
  const own = shifts.length === 0 && weekday <= 5 ? [USUAL_DAY] : shifts.filter((shift) => shift.weekday === weekday)
  if (own.length === 0) return { today, minutesOpen: null }
  const begins = Math.min(...own.map(({ starts }) => minuteOf(starts)))
  const ends = Math.max(...own.map((shift) => (minuteOf(shift.ends) > minuteOf(shift.starts) ? minuteOf(shift.ends) : 1440)))
  const minute = instantToMinute(zone, now.getTime())
  return { today, minutesOpen: minute >= begins && minute < ends ? minute - begins : null }
}
