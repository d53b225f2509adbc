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

/** @returns 'YYYY-MM-DDTHH:mm:ss' as clocks show it in the zone */
export function instantToLocal(zone: string, instantMs: number): string {
  const parts = Object.fromEntries(
    formatOf(zone)
      .formatToParts(instantMs)
      .map(({ type, value }) => [type, value]),
  )
  return `${parts.year}-${parts.month}-${parts.day}T${parts.hour}:${parts.minute}:${parts.second}`
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
