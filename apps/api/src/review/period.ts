/** The days asked for, as instants. Pure. */
import { localToInstant } from '@tapewarden/scheduling'
import { addDays } from '../use/local-day.js'
import type { Interval } from './intervals.js'

export interface Period {
  nowMs: number
  /** The local days asked for in a zone. */
  daysIn(zone: string): Interval
  /** Of them what has passed. */
  within(zone: string): Interval
}

export function periodOf({ from, to }: { from: string; to: string }, nowMs: number): Period {
  const known = new Map<string, Interval>()
  const daysIn = (zone: string): Interval => {
    const days = known.get(zone) ?? { from: localToInstant(zone, `${from}T00:00`), to: localToInstant(zone, `${addDays(to, 1)}T00:00`) }
    known.set(zone, days)
    return days
  }
  return {
    nowMs,
    daysIn,
    within: (zone) => {
      const days = daysIn(zone)
      return { from: days.from, to: Math.min(days.to, Math.max(nowMs, days.from)) }
    },
  }
}
