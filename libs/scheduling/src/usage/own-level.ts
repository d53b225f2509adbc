/** What one machine's evidence says of its level, by intervals weighted by age. */
import type { Day, UsageInterval } from '../model.js'
import { type Sums, sumOver } from './sums.js'

/** Evidence loses half its weight in so many days (28 working days of a five-day week). */
export const HALF_LIFE_DAYS = 39
const LEAST_WEIGHT = 1e-9
/** By age in days; older evidence weighs nothing. */
const WEIGHTS: Float64Array = Float64Array.from(
  { length: Math.floor(-HALF_LIFE_DAYS * Math.log2(LEAST_WEIGHT)) + 1 },
  (_, age) => 2 ** (-age / HALF_LIFE_DAYS),
)

export interface OwnLevel {
  /** Strips on an ordinary working day; null without evidence. */
  mean: number | null
  /** Squared standard error of ln(mean), from scatter alone. */
  scatterVariance: number
  /** Squared error by what the level has drifted since the evidence that tells of it. */
  lagVariance: number
  /** Relative error of the evidence's own kind, common to past and future. */
  kindError: number
}

const UNKNOWN: OwnLevel = { mean: null, scatterVariance: Number.POSITIVE_INFINITY, lagVariance: 0, kindError: 0 }

/**
 * Weighted level Σ λy / Σ λE. For a random walk of variance q a working day and weights falling exponentially with a mean
 * age A, the level at the end is off by q·A/2.
 * @param drift q: variance of the logarithm a working day
 */
export function ownLevel(sums: Sums, usage: readonly UsageInterval[], today: Day, overdispersion: number, drift: number): OwnLevel {
  let weighted = 0
  let exposure = 0
  let squared = 0
  let kindError = 0
  let aged = 0
  let last = Number.NEGATIVE_INFINITY
  for (const { to } of usage) if (to > last) last = to
  for (const { from, to, strips, relativeError } of usage) {
    const weight = WEIGHTS[Math.max(0, today - to)]
    if (weight === undefined) continue
    const expected = sumOver(sums, sums.expected, from, to)
    if (expected <= 0) continue
    weighted += weight * strips
    exposure += weight * expected
    squared += weight * weight * expected
    kindError += weight * expected * relativeError
    aged += weight * expected * (sumOver(sums, sums.working, to + 1, last) + sumOver(sums, sums.working, from, to) / 2)
  }
  if (exposure <= 0 || weighted <= 0) return UNKNOWN
  const mean = weighted / exposure
  return {
    mean,
    scatterVariance: (overdispersion * squared) / (mean * exposure * exposure),
    lagVariance: (drift * aged) / exposure / 2,
    kindError: kindError / exposure,
  }
}
