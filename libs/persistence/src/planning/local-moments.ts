import { localToInstant, type Moment, offsetMsAt } from '@tapewarden/scheduling'
import { dayText } from './days.js'

const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

/** Instants as days and minutes of one zone. */
export class LocalMoments {
  constructor(private readonly zone: string) {}

  of(instantMs: number): Moment {
    const local = instantMs + offsetMsAt(this.zone, instantMs)
    const day = Math.floor(local / DAY_MS)
    return { day, minute: Math.floor((local - day * DAY_MS) / MINUTE_MS) }
  }

  /** The instant at which a local day begins. */
  beginOf(day: number): Date {
    return new Date(localToInstant(this.zone, `${dayText(day)}T00:00`))
  }
}
