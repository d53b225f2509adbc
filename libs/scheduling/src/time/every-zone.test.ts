/**
 * Every zone that changes its clocks within three years, every change, every quarter hour of the day of the change and of
 * the days beside it, against a reading of the zone written apart: its offsets as Intl tells them, found by halving.
 */
import { describe, expect, it } from '@jest/globals'
import { type Change, changesOf, DAY_MS, offsetReader, QUARTER_MS } from '../../../../tests/support/zone-changes.js'
import { instantToLocal, localToInstant } from './instant.js'

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
