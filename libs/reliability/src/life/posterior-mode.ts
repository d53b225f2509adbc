/** The most credible Weibull given data and prior, and how sharply it is known. */
import { findRoot } from '../special/root.js'
import type { PreparedLife } from './life-data.js'
import { powerSums } from './power-sums.js'
import type { WeibullPrior } from './prior.js'

/**
 * Log of likelihood times prior (normalised) as a function of ln shape and ln scale; the data are touched only through
 * S₀(shape), so a caller who varies the scale alone pays nothing for them.
 */
export interface LogPosterior {
  /** ln S₀ at a shape. */
  logSum(logShape: number): number
  at(logShape: number, logScale: number, logSum: number): number
  /** ln scale under which the likelihood ends: there the parts' cumulative hazards sum to 1. */
  edgeLogScale(logShape: number, logSum: number): number
  /** ln scale of greatest posterior at a shape: the function is concave in it. */
  bestLogScale(logShape: number, logSum: number): number
  /** How far ln scale spreads about a value at a shape: 1/√(−second derivative). Falls with the number of failures. */
  spreadOfLogScale(logShape: number, logScale: number, logSum: number): number
}

/** A wide prior says little of where the mode is, and shapes of e^1000 are no numbers: outward from near its mean. */
const FIRST_REACH = 3

const HALF_LOG_TWO_PI = 0.5 * Math.log(2 * Math.PI)

export function logPosterior(life: PreparedLife, prior: WeibullPrior): LogPosterior {
  const { failures, sumLogFailed, logOldest } = life
  const normal = (value: number, { mean, sd }: { mean: number; sd: number }) =>
    -0.5 * ((value - mean) / sd) ** 2 - Math.log(sd) - HALF_LOG_TWO_PI
  return {
    logSum: (logShape) => Math.log(powerSums(life, Math.exp(logShape)).s0),
    at(logShape, logScale, logSum) {
      const shape = Math.exp(logShape)
      const relative = logScale - logOldest
      const likelihood =
        failures * (logShape - logOldest - shape * relative) +
        (failures > 0 ? (shape - 1) * sumLogFailed : 0) -
        Math.exp(logSum - shape * relative)
      return likelihood + normal(logShape, prior.logShape) + normal(logScale, prior.logScale)
    },
    edgeLogScale: (logShape, logSum) => logOldest + logSum * Math.exp(-logShape),
    bestLogScale(logShape, logSum) {
      const shape = Math.exp(logShape)
      const { mean, sd } = prior.logScale
      const slope = (logScale: number) =>
        shape * (Math.exp(Math.min(700, logSum - shape * (logScale - logOldest))) - failures) - (logScale - mean) / (sd * sd)
      const reach = Math.min(sd, FIRST_REACH)
      let [low, high] = [mean - reach, mean + reach]
      while (slope(low) < 0) low -= 2 * (high - low)
      while (slope(high) > 0) high += 2 * (high - low)
      return findRoot(slope, low, high, 1e-13)
    },
    spreadOfLogScale(logShape, logScale, logSum) {
      const shape = Math.exp(logShape)
      const hazards = Math.exp(Math.min(700, logSum - shape * (logScale - logOldest)))
      return 1 / Math.sqrt(shape * shape * hazards + 1 / prior.logScale.sd ** 2)
    },
  }
}

export interface PosteriorMode {
  logShape: number
  logScale: number
  logDensity: number
  /** Inverse of the negative Hessian at the mode, order ln shape, ln scale. */
  covariance: [[number, number], [number, number]]
}

/** Maximum over ln shape of the best over ln scale: golden section to find the hill, Newton to its top. */
export function posteriorMode(life: PreparedLife, prior: WeibullPrior): PosteriorMode {
  const density = logPosterior(life, prior)
  const slope = (logShape: number) => {
    const { s0, s1 } = powerSums(life, Math.exp(logShape))
    return slopeByShape(life, prior, logShape, density.bestLogScale(logShape, Math.log(s0)), s0, s1)
  }
  const { mean, sd } = prior.logShape
  const reach = Math.min(sd, FIRST_REACH)
  let [low, high] = [mean - reach, mean + reach]
  while (slope(low) < 0) low -= 2 * (high - low)
  while (slope(high) > 0) high += 2 * (high - low)
  const logShape = findRoot(slope, low, high, 1e-12)
  const logSum = density.logSum(logShape)
  const logScale = density.bestLogScale(logShape, logSum)
  return { logShape, logScale, logDensity: density.at(logShape, logScale, logSum), covariance: laplace(life, prior, logShape, logScale) }
}

/** By the envelope theorem the slope of the best value is the partial slope. */
function slopeByShape(life: PreparedLife, prior: WeibullPrior, logShape: number, logScale: number, s0: number, s1: number): number {
  const shape = Math.exp(logShape)
  const relative = logScale - life.logOldest
  const pull = shape * (s1 - relative * s0) * Math.exp(Math.min(700, -shape * relative))
  const likelihood = life.failures * (1 - shape * relative) + shape * life.sumLogFailed - pull
  return likelihood - (logShape - prior.logShape.mean) / prior.logShape.sd ** 2
}

function laplace(life: PreparedLife, prior: WeibullPrior, logShape: number, logScale: number): PosteriorMode['covariance'] {
  const shape = Math.exp(logShape)
  const relative = logScale - life.logOldest
  const { s0, s1, s2 } = powerSums(life, shape)
  const factor = Math.exp(-shape * relative)
  // With w = shape · (ln t − ln scale) and z = e^w: Σz, Σzw and Σzw² from the power sums
  const z = factor * s0
  const zw = shape * factor * (s1 - relative * s0)
  const zww = shape * shape * factor * (s2 - 2 * relative * s1 + relative * relative * s0)
  const failedW = shape * (life.sumLogFailed - life.failures * relative)
  const byShape = zw + zww - failedW + 1 / prior.logShape.sd ** 2
  const both = -shape * (z + zw - life.failures)
  const byScale = shape * shape * z + 1 / prior.logScale.sd ** 2
  const determinant = byShape * byScale - both * both
  return [
    [byScale / determinant, -both / determinant],
    [-both / determinant, byShape / determinant],
  ]
}
