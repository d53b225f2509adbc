/** Wall time of a zone and instants. Pure; the browser's own zone plays no part. */
const formats = new Map<string, Intl.DateTimeFormat>()

function formatOf(zone: string): Intl.DateTimeFormat {
  const known = formats.get(zone)
  if (known) return known
  const made = new Intl.DateTimeFormat('sv-SE', {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  })
  formats.set(zone, made)
  return made
}

/** 'YYYY-MM-DDTHH:MM' on the clocks of the zone, as a field of date and time wants it. */
export const wallOf = (instant: string, zone: string): string => formatOf(zone).format(new Date(instant)).replace(/,? /, 'T')

/** Milliseconds by which the zone's clocks are ahead at an instant; whole minutes. */
const aheadMs = (atMs: number, zone: string): number => {
  const minute = Math.floor(atMs / 60_000) * 60_000
  return Date.parse(`${wallOf(new Date(minute).toISOString(), zone)}Z`) - minute
}

const DAY_MS = 86_400_000

/**
 * Every instant at which the zone's clocks show a wall time, in order: two in the hour that comes twice, none of what the clocks skip.
 * @param wall  'YYYY-MM-DDTHH:MM'  @returns RFC 3339 in UTC
 */
export function instantsOf(wall: string, zone: string): string[] {
  const asUtc = Date.parse(`${wall}Z`)
  if (!Number.isFinite(asUtc)) return []
  const ahead = new Set([asUtc - DAY_MS, asUtc + DAY_MS].map((atMs) => aheadMs(atMs, zone)))
  return [...ahead]
    .map((ms) => new Date(asUtc - ms).toISOString())
    .filter((instant) => wallOf(instant, zone) === wall)
    .sort()
}

/**
 * The instant of a wall time. Of an hour that comes twice the first; a time that the clocks skip counts on from before the skip.
 * @param wall  'YYYY-MM-DDTHH:MM'  @returns RFC 3339 in UTC, or null where it is no time
 */
export function instantOf(wall: string, zone: string): string | null {
  const asUtc = Date.parse(`${wall}Z`)
  if (!Number.isFinite(asUtc)) return null
  return instantsOf(wall, zone)[0] ?? new Date(asUtc - aheadMs(asUtc - DAY_MS, zone)).toISOString()
}
