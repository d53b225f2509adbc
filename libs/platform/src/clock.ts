/**
 * The one clock. A request or job asks it once and passes the answer on, so that everything
 * it decides belongs to one moment, and that moment is the database's.
 */
export interface Clock {
  now(): Promise<Date>
}

/** Asks the database for `clock_timestamp()`; answers one instant. */
export type AskDatabaseTime = () => Promise<Date>

export interface ClockSettings {
  /** Fixes the clock: tests and demos only. */
  clockAt?: Date | undefined
  /** Shifts the database's clock, milliseconds: tests and demos only. */
  clockOffsetMs?: number | undefined
  production: boolean
}

export class DatabaseClock implements Clock {
  constructor(
    private readonly askDatabaseTime: AskDatabaseTime,
    private readonly offsetMs = 0,
  ) {}

  async now(): Promise<Date> {
    const instant = await this.askDatabaseTime()
    return this.offsetMs === 0 ? instant : new Date(instant.getTime() + this.offsetMs)
  }
}

export class FixedClock implements Clock {
  constructor(private instant: Date) {}

  async now(): Promise<Date> {
    return new Date(this.instant)
  }

  /** Tests move it by hand. */
  set(instant: Date): void {
    this.instant = instant
  }
}

export function createClock(settings: ClockSettings, askDatabaseTime: AskDatabaseTime): Clock {
  const moved = settings.clockAt !== undefined || (settings.clockOffsetMs ?? 0) !== 0
  if (settings.production && moved) throw new Error('A fixed or shifted clock is for tests and demos; production refuses it.')
  if (settings.clockAt) return new FixedClock(settings.clockAt)
  return new DatabaseClock(askDatabaseTime, settings.clockOffsetMs ?? 0)
}

const UNIT_MS: Readonly<Record<string, number>> = { s: 1000, m: 60_000, h: 3_600_000, d: 86_400_000 }

/**
 * Reads a shift of the clock: '3d', '-36h', '+1d12h', '90m', '15s', or whole milliseconds.
 * @returns milliseconds, or null where the text is none of these
 */
export function parseOffset(text: string): number | null {
  if (/^[+-]?\d{1,15}$/.test(text)) return Number(text)
  const match = /^([+-]?)((?:\d+[dhms])+)$/.exec(text)
  if (!match) return null
  let totalMs = 0
  for (const [, amount, unit] of (match[2] ?? '').matchAll(/(\d+)([dhms])/g)) totalMs += Number(amount) * (UNIT_MS[unit ?? ''] ?? 0)
  return match[1] === '-' ? -totalMs : totalMs
}
