/** What peaks really were, against what was stated of them: past ones correct those to come. */
import type { DayTable } from '../calendar/day-table.js'
import type { Day, UsageInterval, WarehouseCalendar } from '../model.js'
import { type Sums, sumOver } from './sums.js'

/** Spread of ln(true over stated): of the habit of stating, and from one peak to the next (assumptions). */
const STATED_LOG_SD = 0.22
const BETWEEN_PEAKS_LOG_SD = 0.12
/** Scatter of one machine's ratio where too few tell, and days before a peak that it is held against. */
const MACHINE_LOG_SD = 0.25
const BEFORE_DAYS = 70

export interface PeakBelief {
  /** Multiplier of each day of the table, as believed. */
  multiplier: Float64Array
  /** Relative error of the multiplier of a peak to come. */
  cv: number
}

type Fleet = readonly { usage: readonly UsageInterval[] }[]
type Peak = WarehouseCalendar['peaks'][number]

/** Place of the first interval that begins on that day or later. */
function firstFrom(usage: readonly UsageInterval[], day: Day): number {
  let [low, high] = [0, usage.length]
  while (low < high) {
    const middle = (low + high) >>> 1
    if ((usage[middle] as UsageInterval).from < day) low = middle + 1
    else high = middle
  }
  return low
}

/** ln of use in the peak over what it would have been by the weeks before and the stated multiplier; null where nothing tells. */
function ratioOf(sums: Sums, usage: readonly UsageInterval[], { from, to }: Peak): number | null {
  let [inside, insideWorth, outside, outsideWorth] = [0, 0, 0, 0]
  // What lies before the table has no expected use to be held against.
  for (let index = firstFrom(usage, Math.max(from - BEFORE_DAYS, sums.table.from)); index < usage.length; index++) {
    const interval = usage[index] as UsageInterval
    if (interval.from > to) break
    if (interval.kind === 'tap') continue
    const within = interval.from >= from && interval.to <= to
    const before = interval.to < from
    if (!within && !before) continue
    const worth = sumOver(sums, sums.expected, interval.from, interval.to)
    if (before && sumOver(sums, sums.inPeak, interval.from, interval.to) > 0) continue
    if (within) [inside, insideWorth] = [inside + interval.strips, insideWorth + worth]
    else [outside, outsideWorth] = [outside + interval.strips, outsideWorth + worth]
  }
  if (insideWorth < 4 || outsideWorth < 8 || inside <= 0 || outside <= 0) return null
  return Math.log(inside / insideWorth / (outside / outsideWorth))
}

interface Seen {
  peak: Peak
  mean: number
  variance: number
}

function seenIn(sums: Sums, machines: Fleet, peak: Peak): Seen | null {
  const ratios = machines.flatMap(({ usage }) => ratioOf(sums, usage, peak) ?? [])
  if (ratios.length === 0) return null
  const mean = ratios.reduce((a, b) => a + b, 0) / ratios.length
  const squares = ratios.reduce((sum, ratio) => sum + (ratio - mean) ** 2, 0)
  return { peak, mean, variance: (squares + 2 * MACHINE_LOG_SD ** 2) / (ratios.length + 2) / ratios.length }
}

/** @param sums by the multipliers as stated */
export function believedPeaks(sums: Sums, peaks: readonly Peak[], machines: Fleet, today: Day): PeakBelief {
  const multiplier = Float64Array.from(sums.table.multiplier)
  const counted = peaks.filter(({ usageMultiplier }) => usageMultiplier !== 1)
  const seen = counted.filter(({ from, to }) => from < today && to >= sums.table.from).flatMap((peak) => seenIn(sums, machines, peak) ?? [])
  let precision = STATED_LOG_SD ** -2
  let moment = 0
  for (const { mean, variance } of seen) {
    const weight = 1 / (variance + BETWEEN_PEAKS_LOG_SD ** 2)
    precision += weight
    moment += weight * mean
  }
  const habit = moment / precision
  const own = new Map(
    seen.map(({ peak, mean, variance }) => {
      const share = BETWEEN_PEAKS_LOG_SD ** 2 / (BETWEEN_PEAKS_LOG_SD ** 2 + variance)
      return [peak, habit + share * (mean - habit)]
    }),
  )
  for (const peak of counted) scale(sums.table, multiplier, peak, Math.exp(own.get(peak) ?? habit))
  return { multiplier, cv: Math.sqrt(1 / precision + BETWEEN_PEAKS_LOG_SD ** 2) }
}

function scale(table: DayTable, multiplier: Float64Array, { from, to, usageMultiplier }: Peak, factor: number): void {
  for (let day = Math.max(from, table.from); day <= Math.min(to, table.to); day++) multiplier[day - table.from] = usageMultiplier * factor
}
