import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { makeDayTable } from '../calendar/day-table.js'
import type { UsageInterval } from '../model.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dayOf } from '../time/day.js'
import { believedPeaks } from './peaks.js'
import { type Sums, sumOver, sumsOf } from './sums.js'

const first = dayOf('2023-01-02')
const today = dayOf('2025-06-02')
const peaks = [
  { from: dayOf('2023-11-20'), to: dayOf('2023-12-22'), usageMultiplier: 1.6, bars: 'nothing' as const },
  { from: dayOf('2024-11-18'), to: dayOf('2024-12-20'), usageMultiplier: 1.5, bars: 'nothing' as const },
  { from: dayOf('2025-11-17'), to: dayOf('2025-12-19'), usageMultiplier: 2, bars: 'nothing' as const },
]
const table = makeDayTable({ ...WORKED_CASES_CALENDAR, closures: [], peaks }, first, first + 4 * 366)
const sums = sumsOf(table, Float64Array.from([0, 1, 1, 1, 1, 1, 0, 0]), table.multiplier)

/** ln of a peak's use over what the weeks before and the stated multiplier promise, by looking at every piece of evidence. */
function ratioByAll({ table: days, expected, inPeak }: Sums, usage: readonly UsageInterval[], { from, to }: (typeof peaks)[number]) {
  const told = usage.filter((one) => one.kind !== 'tap' && one.from >= days.from)
  const worth = (one: UsageInterval) => sumOver({ table: days }, expected, one.from, one.to)
  const inside = told.filter((one) => one.from >= from && one.to <= to)
  const before = told.filter((one) => one.to < from && one.from >= from - 70 && sumOver({ table: days }, inPeak, one.from, one.to) <= 0)
  const total = (all: readonly UsageInterval[], of: (one: UsageInterval) => number) => all.reduce((sum, one) => sum + of(one), 0)
  if (total(inside, worth) < 4 || total(before, worth) < 8) return null
  const level = (all: readonly UsageInterval[]) => total(all, ({ strips }) => strips) / total(all, worth)
  return Math.log(level(inside) / level(before))
}

/** Evidence without a gap or with some, of any lengths, from before the table on. */
const evidence = fc
  .array(
    fc.record({ gap: fc.integer({ min: 0, max: 9 }), days: fc.integer({ min: 1, max: 31 }), daily: fc.integer({ min: 50, max: 900 }) }),
    {
      minLength: 30,
      maxLength: 120,
    },
  )
  .map((steps) => {
    let day = first - 60
    return steps.map(({ gap, days, daily }): UsageInterval => {
      const from = day + gap
      day = from + days
      return { from, to: day - 1, strips: daily * days, kind: daily % 7 === 0 ? 'tap' : 'counter', relativeError: 0 }
    })
  })

describe('peaks as they are believed', () => {
  it('are those of one machine’s ratios, whatever evidence lies around them (every piece looked at, 300 pasts)', () => {
    let [told, silent] = [0, 0]
    fc.assert(
      fc.property(evidence, (usage) => {
        const past = peaks.slice(0, 2)
        const seen = past.flatMap((peak) => ratioByAll(sums, usage, peak) ?? [])
        if (seen.length > 0) told++
        else silent++
        // One machine tells of a peak: mean its ratio, variance 2 × 0.25² / 3; between peaks 0.12, the habit of stating 0.22.
        const variance = (2 * 0.25 ** 2) / 3
        const weight = 1 / (variance + 0.12 ** 2)
        const precision = 0.22 ** -2 + weight * seen.length
        const habit = (weight * seen.reduce((a, b) => a + b, 0)) / precision
        const { multiplier, cv } = believedPeaks(sums, peaks, [{ usage }], today)
        const ahead = multiplier[peaks[2]!.from - first]!
        expect(ahead).toBeCloseTo(2 * Math.exp(habit), 10)
        expect(cv).toBeCloseTo(Math.sqrt(1 / precision + 0.12 ** 2), 12)
      }),
      { seed: 7, numRuns: 300 },
    )
    expect(told).toBeGreaterThan(50)
    expect(silent).toBeGreaterThan(0)
  })
})
