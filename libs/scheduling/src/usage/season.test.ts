import { describe, expect, it } from '@jest/globals'
import { makeDayTable } from '../calendar/day-table.js'
import type { UsageInterval } from '../model.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dayOf } from '../time/day.js'
import { seasonOf, withSeason } from './season.js'
import { sumOver, sumsOf } from './sums.js'

const first = dayOf('2024-01-01')
const peak = { from: dayOf('2025-11-15'), to: dayOf('2025-12-22'), usageMultiplier: 1.6, bars: 'nothing' as const }
const table = makeDayTable({ ...WORKED_CASES_CALENDAR, closures: [], peaks: [peak] }, first, first + 4 * 366)
const sums = sumsOf(table, Float64Array.from([0, 1, 1, 1, 1, 1, 0, 0]), table.multiplier)
const SINE = 0.1
const COSINE = -0.08
const wave = (day: number) => {
  const angle = (2 * Math.PI * day) / 365.2425
  return Math.exp(SINE * Math.sin(angle) + COSINE * Math.cos(angle))
}

/** So many days of evidence at a level that may change; wanders by `drift` a week up and down, and by chance of the index. */
function machine(index: number, days: number, { waves = true, every = 7, trend = 0 } = {}): { usage: UsageInterval[] } {
  const usage: UsageInterval[] = []
  for (let from = first; from + every <= first + days; from += every) {
    const worth = sumOver(sums, sums.expected, from, from + every - 1)
    let factor = 0
    for (let day = from; day < from + every; day++) factor += (waves ? wave(day) : 1) / every
    const scatter = Math.exp(0.12 * Math.sin(1.7 * index + 12.9898 * (from - first)))
    const strips = (500 + 60 * index) * Math.exp(trend * (from - first)) * worth * factor * scatter
    usage.push({ from, to: from + every - 1, strips, kind: 'counter', relativeError: 0 })
  }
  return { usage }
}
const fleet = (count: number, days: number, more = {}) => Array.from({ length: count }, (_, index) => machine(index, days, more))

describe('the season of a warehouse', () => {
  it.each([7, 30])('is found from two years of readings every %i days, through levels and scatter', (every) => {
    const season = seasonOf(sums, fleet(12, 730, { every }))
    expect(season?.sine).toBeCloseTo(SINE, 1)
    expect(season?.cosine).toBeCloseTo(COSINE, 1)
    expect(Math.hypot((season?.sine ?? 0) - SINE, (season?.cosine ?? 0) - COSINE)).toBeLessThan(0.03)
  })

  it('is none where there is none, and use that grows all the time is hardly taken for one', () => {
    const none = seasonOf(sums, fleet(12, 730, { waves: false }))
    expect(Math.hypot(none?.sine ?? 0, none?.cosine ?? 0)).toBeLessThan(0.02)
    const growing = seasonOf(sums, fleet(12, 730, { waves: false, trend: 0.0005 }))
    expect(Math.hypot(growing?.sine ?? 0, growing?.cosine ?? 0)).toBeLessThan(0.05)
  })

  it('is not guessed from less than a year, from words, or from nothing', () => {
    expect(seasonOf(sums, fleet(12, 300))).toBeNull()
    const words = fleet(12, 730).map(({ usage }) => ({ usage: usage.map((one) => ({ ...one, kind: 'tap' as const })) }))
    expect(seasonOf(sums, words)).toBeNull()
    expect(seasonOf(sums, [])).toBeNull()
  })

  it('multiplies each day of the table', () => {
    const multiplier = withSeason(table.multiplier, table.from, { sine: SINE, cosine: COSINE })
    for (const day of [first, first + 100, peak.from])
      expect(multiplier[day - first]).toBeCloseTo(table.multiplier[day - first]! * wave(day), 12)
    expect(withSeason(table.multiplier, table.from, null)).toBe(table.multiplier)
  })
})
