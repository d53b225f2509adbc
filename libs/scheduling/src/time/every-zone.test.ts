/**
 * Every zone that changes its clocks within three years, every change, every quarter hour of the day of the change and of
 * the days beside it, against a reading of the zone written apart: its offsets as Intl tells them, found by halving.
 */
import { describe, expect, it } from '@jest/globals'
import { instantToLocal, localToInstant } from './instant.js'

const FROM = Date.UTC(2026, 10, 25)
const TO = Date.UTC(2029, 10, 25)
const QUARTER_MS = 900_000
const DAY_MS = 86_400_000
const STEP_MS = 6 * 3_600_000

/** The local time of an instant, as if it were UTC, less the instant. */
function offsetReader(zone: string): (instantMs: number) => number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  })
  return (instantMs) => {
    const [month, day, year, hour, minute, second] = (format.format(instantMs).match(/\d+/g) ?? []).map(Number) as number[]
    return Date.UTC(year!, month! - 1, day, hour, minute, second) - instantMs
  }
}

interface Change {
  at: number
  before: number
  after: number
}

function changesOf(offsetAt: (instantMs: number) => number): Change[] {
  const changes: Change[] = []
  let before = offsetAt(FROM)
  for (let end = FROM + STEP_MS; end <= TO; end += STEP_MS) {
    const after = offsetAt(end)
    if (after === before) continue
    let [low, high] = [end - STEP_MS, end]
    while (high - low > 1000) {
      const middle = Math.floor((low + high) / 2000) * 1000
      if (offsetAt(middle) === before) low = middle
      else high = middle
    }
    changes.push({ at: high, before, after })
    before = after
  }
  return changes
}

/** A local time before the change as shown by the old clock is the earlier; what the new clock skips keeps the old offset. */
const instantOf = (local: number, { at, before, after }: Change): number =>
  local - before < at || local - after < at ? local - before : local - after

const textOf = (local: number): string => new Date(local).toISOString().slice(0, 16)

describe('wall time to instant', () => {
  it('agrees at every quarter hour around every change of every zone from November 2026 to November 2029', () => {
    const wrong: string[] = []
    let [cases, zones] = [0, 0]
    for (const zone of Intl.supportedValuesOf('timeZone')) {
      const changes = changesOf(offsetReader(zone))
      if (changes.length > 0) zones += 1
      for (const [index, change] of changes.entries()) {
        const midnight = Math.floor((change.at + change.before) / DAY_MS) * DAY_MS
        // Where two changes lie within days of each other, each case belongs to the nearer one's neighbourhood.
        const [earliest, latest] = [changes[index - 1]?.at ?? 0, changes[index + 1]?.at ?? Infinity]
        for (let local = midnight - DAY_MS; local < midnight + 2 * DAY_MS; local += QUARTER_MS) {
          const wanted = instantOf(local, change)
          if (wanted < earliest + DAY_MS || wanted > latest - DAY_MS) continue
          cases += 1
          const found = localToInstant(zone, textOf(local))
          const shown = change.after > change.before && wanted >= change.at && local - change.after < change.at ? null : textOf(local)
          if (found !== wanted || (shown !== null && instantToLocal(zone, found).slice(0, 16) !== shown))
            wrong.push(`${zone} ${textOf(local)}`)
        }
      }
    }
    expect(wrong).toEqual([])
    expect(zones).toBeGreaterThan(100)
    expect(cases).toBeGreaterThan(200_000)
  }, 120_000)
})
