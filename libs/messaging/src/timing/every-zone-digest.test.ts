/**
 * When a digest falls due, in every zone that changes its clocks within three years: every change, every quarter hour
 * of the first six hours as the beginning of work, the day of the change and the days beside it, against offsets as Intl
 * tells them and the rule of RFC 5545, 3.3.5, written apart.
 */
import { describe, expect, it } from '@jest/globals'
import { type Change, changesOf, DAY_MS, offsetReader } from '../../../../tests/support/zone-changes.js'
import { localMoment } from './working-hours.js'

const MINUTE_MS = 60_000
const two = (value: number) => String(value).padStart(2, '0')
const clock = (minute: number) => `${two(Math.floor(minute / 60))}:${two(minute % 60)}`
const WEEK = [1, 2, 3, 4, 5, 6, 7]

/** What hangs on the wall at an instant near a change. */
const wallOf = (instantMs: number, { at, before, after }: Change): number => instantMs + (instantMs < at ? before : after)

/** A time that occurs twice is the first; one that the clock skips is read with the offset before. */
const instantOf = (local: number, { at, before, after }: Change): number =>
  local - before < at || local - after < at ? local - before : local - after

describe('the moment at which a digest falls due', () => {
  it('is the beginning of work on the wall, around every change of every zone', () => {
    const wrong: string[] = []
    let cases = 0
    const seen = new Set<string>()
    for (const zone of Intl.supportedValuesOf('timeZone')) {
      const changes = changesOf(offsetReader(zone))
      for (const [index, change] of changes.entries()) {
        // Two changes within three days of each other belong to no one case.
        const near = [changes[index - 1]?.at, changes[index + 1]?.at].some(
          (at) => at !== undefined && Math.abs(at - change.at) < 3 * DAY_MS,
        )
        if (near) continue
        seen.add(zone)
        const middle = Math.floor((change.at + change.before) / DAY_MS)
        for (const day of [middle - 1, middle, middle + 1])
          for (let quarter = 0; quarter < 24; quarter++) {
            const begins = quarter * 15
            const shifts = WEEK.map((weekday) => ({ weekday, starts: clock(begins), ends: '24:00' }))
            const due = instantOf(day * DAY_MS + begins * MINUTE_MS, change)
            if (Math.floor(wallOf(due, change) / DAY_MS) !== day) continue
            cases += 1
            const date = new Date(day * DAY_MS).toISOString().slice(0, 10)
            const hours = { zone, shifts, closures: [] }
            const [then, earlier] = [localMoment(hours, new Date(due)), localMoment(hours, new Date(due - MINUTE_MS))]
            const open = then.today === date && then.minutesOpen === 0
            // A minute before, it is not open yet, unless that is still the end of the day before.
            const shut = earlier.today !== date || earlier.minutesOpen === null
            if (!open || !shut) wrong.push(`${zone} ${date} ${clock(begins)}`)
          }
      }
    }
    expect(wrong.slice(0, 20)).toEqual([])
    expect(seen.size).toBeGreaterThan(100)
    expect(cases).toBeGreaterThan(52_416)
  }, 240_000)
})
