/**
 * Wall time to instant and back, in one place. RFC 5545, 3.3.5: a local time that occurs twice is the first;
 * one that does not exist is read with the offset before the gap. Temporal's 'compatible' does exactly that.
 */
import { Temporal } from 'temporal-polyfill'
import type { Day } from '../model.js'
import { dayOf } from './day.js'

export class UnknownZone extends RangeError {
  constructor(readonly zone: string) {
    super(`'${zone}' is not a known IANA time zone, such as Europe/Berlin`)
    this.name = 'UnknownZone'
  }
}

const KNOWN = new Set<string>()

/** Names only: offsets such as +02:00 are no zones. */
export function isKnownZone(zone: string): boolean {
  if (KNOWN.has(zone)) return true
  if (!/^[A-Za-z][A-Za-z0-9_+-]*(\/[A-Za-z0-9_+-]+)*$/.test(zone)) return false
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone })
  } catch {
    return false
  }
  // The zones there are bound its size, up to upper and lower case.
  if (KNOWN.size < 2000) KNOWN.add(zone)
  return true
}

function requireZone(zone: string): void {
  if (!isKnownZone(zone)) throw new UnknownZone(zone)
}

/**
 * @param local 'YYYY-MM-DDTHH:mm' or with seconds
 * @returns milliseconds since 1970-01-01T00:00Z
 * @throws UnknownZone, RangeError for a text that is no local time
 */
export function localToInstant(zone: string, local: string): number {
  requireZone(zone)
  return Temporal.PlainDateTime.from(local).toZonedDateTime(zone, { disambiguation: 'compatible' }).epochMilliseconds
}

const FORMATS = new Map<string, Intl.DateTimeFormat>()

function formatOf(zone: string): Intl.DateTimeFormat {
  let format = FORMATS.get(zone)
  if (!format) {
    requireZone(zone)
    format = new Intl.DateTimeFormat('en-CA', {
      timeZone: zone,
      hourCycle: 'h23',
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      second: '2-digit',
    })
    FORMATS.set(zone, format)
  }
  return format
}

/** What the time zone database says, by way of a text: twenty microseconds. @returns milliseconds ahead of UTC, whole seconds */
function askOffset(zone: string, instantMs: number): number {
  const part = Object.fromEntries(
    formatOf(zone)
      .formatToParts(instantMs)
      .map(({ type, value }) => [type, Number(value)]),
  ) as Record<'year' | 'month' | 'day' | 'hour' | 'minute' | 'second', number>
  const shown = new Date(0)
  // Set by hand: Date.UTC reads the years up to 99 as 1900 and later.
  shown.setUTCFullYear(part.year, part.month - 1, part.day)
  shown.setUTCHours(part.hour, part.minute, part.second)
  return shown.getTime() - Math.floor(instantMs / 1000) * 1000
}

/** No zone changes its clocks twice within so little. */
const STRETCH_MS = 6 * 3_600_000
/** At the ends of stretches. Forgets all when it is full. */
const OFFSETS = new Map<string, Map<number, number>>()
const MOST_OFFSETS = 20_000
let offsetsKnown = 0

function offsetAtEnd(zone: string, stretch: number): number {
  let known = OFFSETS.get(zone)
  if (offsetsKnown >= MOST_OFFSETS) {
    OFFSETS.clear()
    offsetsKnown = 0
    known = undefined
  }
  if (!known) OFFSETS.set(zone, (known = new Map<number, number>()))
  let offset = known.get(stretch)
  if (offset === undefined) {
    offset = askOffset(zone, stretch * STRETCH_MS)
    known.set(stretch, offset)
    offsetsKnown += 1
  }
  return offset
}

/** The same at both ends of a stretch is the same within it. @returns by how much the zone's clocks are ahead of UTC, milliseconds @throws UnknownZone */
export function offsetMsAt(zone: string, instantMs: number): number {
  const stretch = Math.floor(instantMs / STRETCH_MS)
  const before = offsetAtEnd(zone, stretch)
  return before === offsetAtEnd(zone, stretch + 1) ? before : askOffset(zone, instantMs)
}

/** @returns 'YYYY-MM-DDTHH:mm:ss' as clocks show it in the zone, for the years 0 to 9999 */
export function instantToLocal(zone: string, instantMs: number): string {
  return new Date(instantMs + offsetMsAt(zone, instantMs)).toISOString().slice(0, 19)
}

/** @returns 'YYYY-MM-DD', the local date of the instant in the zone */
export function instantToLocalDate(zone: string, instantMs: number): string {
  return instantToLocal(zone, instantMs).slice(0, 10)
}

export function instantToDay(zone: string, instantMs: number): Day {
  return dayOf(instantToLocalDate(zone, instantMs))
}

/** Minutes since local midnight, 0..1439, as clocks show it. */
export function instantToMinute(zone: string, instantMs: number): number {
  const local = instantToLocal(zone, instantMs)
  return Number(local.slice(11, 13)) * 60 + Number(local.slice(14, 16))
}
