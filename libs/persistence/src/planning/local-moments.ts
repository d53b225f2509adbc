import { instantToLocal, localToInstant, type Moment } from '@tapewarden/scheduling'
import { dayNumber, dayText } from './days.js'

const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

/**
 * Instants as days and minutes of one zone, for many instants: the offset is looked up once a UTC day,
 * and the slow way is taken only on a day on which clocks change.
 */
export class LocalMoments {
  /** Offset in milliseconds by UTC day; NaN where it changes within that day. */
  private readonly offsets = new Map<number, number>()

  constructor(private readonly zone: string) {}

  of(instantMs: number): Moment {
    const offset = this.offsetOn(Math.floor(instantMs / DAY_MS))
    if (Number.isNaN(offset)) return this.slowly(instantMs)
    const local = instantMs + offset
    const day = Math.floor(local / DAY_MS)
    return { day, minute: Math.floor((local - day * DAY_MS) / MINUTE_MS) }
  }

  /** The instant at which a local day begins. */
  beginOf(day: number): Date {
    return new Date(localToInstant(this.zone, `${dayText(day)}T00:00`))
  }

  private slowly(instantMs: number): Moment {
    const local = instantToLocal(this.zone, instantMs)
    return { day: dayNumber(local.slice(0, 10)), minute: Number(local.slice(11, 13)) * 60 + Number(local.slice(14, 16)) }
  }

  private offsetOn(utcDay: number): number {
    const known = this.offsets.get(utcDay)
    if (known !== undefined) return known
    const [begin, end] = [utcDay * DAY_MS, (utcDay + 1) * DAY_MS].map((ms) => this.offsetAt(ms)) as [number, number]
    const offset = begin === end ? begin : Number.NaN
    this.offsets.set(utcDay, offset)
    return offset
  }

  private offsetAt(instantMs: number): number {
    const { day, minute } = this.slowly(instantMs)
    return day * DAY_MS + minute * MINUTE_MS - instantMs
  }
}
