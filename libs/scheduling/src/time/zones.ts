/** What a zone's clocks do: whether a local time is there once, twice or not at all, and when they change. */
import { InvalidInput } from '@tapewarden/reliability'
import { Temporal } from 'temporal-polyfill'
import { instantToLocal, isKnownZone, localToInstant } from './instant.js'

export type LocalKind = 'plain' | 'gap' | 'overlap'

const minuteOf = (local: string): string => local.slice(0, 16)
const utcOf = (instantMs: number): string => new Date(instantMs).toISOString().replace('.000Z', 'Z')

/** A date alone, or one with an offset, is another thing and is refused. */
const LOCAL_TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?$/

function plainOf(field: string, local: string): Temporal.PlainDateTime {
  if (!LOCAL_TIME.test(local)) throw new InvalidInput(field, `must be a local time such as 2026-03-29T02:30; it is '${local}'`)
  try {
    return Temporal.PlainDateTime.from(local)
  } catch {
    throw new InvalidInput(field, `must be a local time that there is, such as 2026-03-29T02:30; it is '${local}'`)
  }
}

function requireZone(zone: string): void {
  if (!isKnownZone(zone)) throw new InvalidInput('zone', 'must be a known IANA time zone, such as Europe/Berlin')
}

/** RFC 5545, 3.3.5: twice means the first; one that does not exist is read with the offset before the gap. */
export function readLocalTime(zone: string, local: string): { utc: string; shownLocal: string; kind: LocalKind } {
  requireZone(zone)
  const plain = plainOf('local', local)
  const earlier = plain.toZonedDateTime(zone, { disambiguation: 'earlier' }).epochMilliseconds
  const later = plain.toZonedDateTime(zone, { disambiguation: 'later' }).epochMilliseconds
  const instantMs = localToInstant(zone, plain.toString())
  const shownLocal = minuteOf(instantToLocal(zone, instantMs))
  const kind = earlier === later ? 'plain' : shownLocal === minuteOf(plain.toString({ smallestUnit: 'minute' })) ? 'overlap' : 'gap'
  return { utc: utcOf(instantMs), shownLocal, kind }
}

/** @throws InvalidInput naming the zone or the field that is no local time */
export function instantOf(zone: string, field: string, local: string): number {
  requireZone(zone)
  return localToInstant(zone, plainOf(field, local).toString())
}

/** Elapsed hours between two local times: 23 or 25 over a day on which the clocks change. */
export function elapsedHours(zone: string, from: string, to: string): number {
  const [start, end] = [instantOf(zone, 'from', from), instantOf(zone, 'to', to)]
  if (end < start) throw new InvalidInput('to', 'must not lie before from')
  return (end - start) / 3_600_000
}

export interface ZoneTransition {
  utc: string
  offsetBeforeMinutes: number
  offsetAfterMinutes: number
  localBefore: string
  localAfter: string
}

/** With its offset, or it would be another instant on every machine. */
const INSTANT = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)$/i
/** A day alone is its beginning in UTC. */
const DAY = /^\d{4}-\d\d-\d\d$/

function readInstant(field: string, text: string): number {
  try {
    if (INSTANT.test(text)) return Temporal.Instant.from(text).epochMilliseconds
    if (DAY.test(text)) return Temporal.Instant.from(`${text}T00:00:00Z`).epochMilliseconds
  } catch {
    // such as 30 February
  }
  throw new InvalidInput(field, `must be an instant such as 2026-01-01T00:00:00Z; it is '${text}'`)
}

/** Changes of the zone's offset at or after `from` and before `to`, both RFC 3339 instants. Source: the IANA time zone database. */
export function zoneTransitions(zone: string, from: string, to: string): ZoneTransition[] {
  requireZone(zone)
  const [start, end] = [readInstant('from', from), readInstant('to', to)]
  if (end < start) throw new InvalidInput('to', 'must not lie before from')
  if (end - start > 200 * 366 * 86_400_000) throw new InvalidInput('to', 'must lie at most 200 years after from')
  const out: ZoneTransition[] = []
  let at = Temporal.Instant.fromEpochMilliseconds(start - 1).toZonedDateTimeISO(zone)
  for (;;) {
    const next = at.getTimeZoneTransition('next')
    if (!next || next.epochMilliseconds >= end) return out
    const before = next.subtract({ nanoseconds: 1 })
    const offsetBefore = before.offsetNanoseconds / 6e10
    const offsetAfter = next.offsetNanoseconds / 6e10
    if (offsetBefore !== offsetAfter)
      out.push({
        utc: utcOf(next.epochMilliseconds),
        offsetBeforeMinutes: offsetBefore,
        offsetAfterMinutes: offsetAfter,
        localBefore: minuteOf(new Date(next.epochMilliseconds + offsetBefore * 60_000).toISOString()),
        localAfter: minuteOf(new Date(next.epochMilliseconds + offsetAfter * 60_000).toISOString()),
      })
    at = next
  }
}
