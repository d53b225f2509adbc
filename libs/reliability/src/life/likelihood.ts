/** The Weibull log-likelihood away from its maximum, for intervals and posteriors. */
import type { PreparedLife } from './life-data.js'
import { powerSums } from './power-sums.js'

/** Greatest log-likelihood that a given shape allows. */
export function profileOverScale(life: PreparedLife, shape: number): number {
  const { failures, sumLogFailed, logOldest } = life
  return failures * (Math.log(shape) + Math.log(failures / powerSums(life, shape).s0) - logOldest - 1) + (shape - 1) * sumLogFailed
}

/** @param relativeLogScale ln(scale over the oldest age) */
export function logLikelihoodAt(life: PreparedLife, shape: number, relativeLogScale: number): number {
  const { failures, sumLogFailed, logOldest } = life
  const hazards = powerSums(life, shape).s0 * Math.exp(-shape * relativeLogScale)
  return failures * (Math.log(shape) - logOldest - shape * relativeLogScale) + (shape - 1) * sumLogFailed - hazards
}

/** Its derivative by ln shape at a fixed scale; falls in shape where no part entered late. */
export function scoreAtScale(life: PreparedLife, shape: number, relativeLogScale: number): number {
  const { s0, s1 } = powerSums(life, shape)
  const pull = (s1 - relativeLogScale * s0) * Math.exp(-shape * relativeLogScale)
  return life.failures / shape + life.sumLogFailed - life.failures * relativeLogScale - pull
}
