/** How use scatters and how levels wander, from the fleet's own past. */
import type { Day, UsageInterval } from '../model.js'
import { type Sums, sumOver } from './sums.js'

/** Variance over mean of an interval's strips where there is too little to tell (assumption). */
const DEFAULT_OVERDISPERSION = 60
/** Variance of the logarithm of a level a working day where there is too little to tell (assumption). */
export const DEFAULT_DRIFT = 0.0004
/** Pieces of evidence that the assumptions count as. */
const OVERDISPERSION_WORTH = 20
const DRIFT_WORTH = 40
/** Beyond this the lower tail of use to come would fall with time within the horizon, which no sum of strips can do. */
const GREATEST_DRIFT = 0.001
const BLOCK_WORKING_DAYS = 20
const LAGS = 6
const PAST_DAYS = 2 * 366

type Fleet = readonly { usage: readonly UsageInterval[] }[]

const tells = ({ kind, strips }: UsageInterval): boolean => kind !== 'tap' && strips > 0

/**
 * Variance over mean, from neighbouring intervals of one machine, so that a drifting level does not count as scatter:
 * mean of (r₂ − r₁)² / (1/E₁ + 1/E₂) / r with r = y/E.
 */
export function pooledOverdispersion(sums: Sums, machines: Fleet, today: Day): number {
  let sum = DEFAULT_OVERDISPERSION * OVERDISPERSION_WORTH
  let count = OVERDISPERSION_WORTH
  for (const { usage } of machines) {
    let before: { rate: number; expected: number } | null = null
    for (const interval of usage) {
      if (interval.kind === 'tap' || today - interval.to > 200) continue
      const expected = sumOver(sums, sums.expected, interval.from, interval.to)
      if (expected <= 0) continue
      const rate = interval.strips / expected
      if (before && rate + before.rate > 0) {
        sum += (2 * (rate - before.rate) ** 2) / (1 / expected + 1 / before.expected) / (rate + before.rate)
        count++
      }
      before = { rate, expected }
    }
  }
  return Math.min(1000, Math.max(1, sum / count))
}

interface Block {
  log: number
  /** Working days from the table's first to the block's middle. */
  at: number
}

/** Levels over stretches of about twenty working days. */
function blocksOf(sums: Sums, usage: readonly UsageInterval[], today: Day): Block[] {
  const blocks: Block[] = []
  let [strips, expected, from] = [0, 0, Number.NaN]
  for (const interval of usage) {
    if (!tells(interval) || today - interval.to > PAST_DAYS) continue
    const worth = sumOver(sums, sums.expected, interval.from, interval.to)
    if (worth <= 0) continue
    if (expected === 0) from = interval.from
    strips += interval.strips
    expected += worth
    if (expected < 0.75 * BLOCK_WORKING_DAYS) continue
    const [begin, end] = [from, interval.to].map((day) => sumOver(sums, sums.working, sums.table.from, day)) as [number, number]
    blocks.push({ log: Math.log(strips / expected), at: (begin + end) / 2 })
    ;[strips, expected] = [0, 0]
  }
  return blocks
}

/**
 * Variance of ln level a working day: the slope of the variogram of the machines' levels, mean squared difference against
 * the working days between; its foot is scatter. Drawn towards the assumption.  Source: Cressie, Statistics for Spatial
 * Data, 1993, section 2.4 (classical estimator).
 */
export function pooledDrift(sums: Sums, machines: Fleet, today: Day): number {
  const [counts, distances, squares] = [new Float64Array(LAGS + 1), new Float64Array(LAGS + 1), new Float64Array(LAGS + 1)]
  let told = 0
  for (const { usage } of machines) {
    const blocks = blocksOf(sums, usage, today)
    told += Math.max(0, blocks.length - LAGS / 2)
    for (const [index, later] of blocks.entries())
      for (let lag = 1; lag <= LAGS && lag <= index; lag++) {
        const earlier = blocks[index - lag] as Block
        counts[lag] = (counts[lag] as number) + 1
        distances[lag] = (distances[lag] as number) + later.at - earlier.at
        squares[lag] = (squares[lag] as number) + (later.log - earlier.log) ** 2
      }
  }
  const slope = slopeOf(counts, distances, squares)
  if (slope === null) return DEFAULT_DRIFT
  return Math.min(GREATEST_DRIFT, (told * Math.max(0, slope) + DRIFT_WORTH * DEFAULT_DRIFT) / (told + DRIFT_WORTH))
}

/** Weighted line through the mean squared differences; far lags scatter more and weigh less. */
function slopeOf(counts: Float64Array, distances: Float64Array, squares: Float64Array): number | null {
  let [weights, meanX, meanY] = [0, 0, 0]
  const points: { weight: number; x: number; y: number }[] = []
  for (let lag = 1; lag <= LAGS; lag++) {
    const count = counts[lag] as number
    if (count === 0) continue
    const point = { weight: count / lag, x: (distances[lag] as number) / count, y: (squares[lag] as number) / count }
    points.push(point)
    weights += point.weight
    meanX += point.weight * point.x
    meanY += point.weight * point.y
  }
  if (points.length < 3) return null
  ;[meanX, meanY] = [meanX / weights, meanY / weights]
  const [cross, spread] = points.reduce(
    ([a, b], { weight, x, y }) => [a + weight * (x - meanX) * (y - meanY), b + weight * (x - meanX) ** 2],
    [0, 0],
  )
  return spread > 0 ? cross / spread : null
}
