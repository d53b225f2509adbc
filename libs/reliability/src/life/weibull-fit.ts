/** Two-parameter Weibull by maximum likelihood: failures, parts still good, parts already old when registered. */
import { prepareLife, type LifeData, type PreparedLife } from './life-data.js'
import { powerSums, type PowerSums } from './power-sums.js'
import { findRoot } from '../special/root.js'

/** Why there is no finite, unique maximum. */
export type NoFit = 'no-failures' | 'failures-only-at-oldest-age' | 'shape-tends-to-zero'

export interface WeibullFit {
  finite: true
  parts: number
  failures: number
  /** Dimensionless; above 1 means wear-out. */
  shape: number
  /** In the unit of the ages; 63.2 % have failed by then. */
  scale: number
  logLikelihood: number
  /** Covariance of (ln shape, ln scale) from the observed information. */
  logCovariance: { shape: number; both: number; scale: number }
}

export type WeibullFitResult = WeibullFit | { finite: false; parts: number; failures: number; reason: NoFit }

/**
 * Fits shape and scale. With A = Σ ln t over the r failures the shape solves r/shape + A − r S₁/S₀ = 0, whose left side
 * falls strictly (left truncation included), so the root is unique; scale = (S₀/r)^(1/shape).
 * Source: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed. 2003, section 5.2.
 * A finite maximum exists exactly where some failure is strictly younger than the oldest observed age; where every part
 * entered late, the score at shape 0 must be positive as well.
 * @returns the fit, or the reason why there is none   @throws InvalidInput for data that cannot be ages
 * @example fitWeibull({ time: [1, 2, 3, 4], failed: [1, 1, 1, 0] }).shape // 1.8315…
 * Relative error of shape and scale < 1e-12. Three or four passes over the data.
 */
export function fitWeibull(data: LifeData): WeibullFitResult {
  return fitPrepared(prepareLife(data))
}

export function fitPrepared(life: PreparedLife): WeibullFitResult {
  const { parts, failures } = life
  if (failures === 0) return { finite: false, parts, failures, reason: 'no-failures' }
  if (!life.failureBeforeOldest) return { finite: false, parts, failures, reason: 'failures-only-at-oldest-age' }
  const start = startingShape(life)
  const found = solveShape(life, start)
  return found ? describeFit(life, found.shape, found.sums) : { finite: false, parts, failures, reason: 'shape-tends-to-zero' }
}

const SMALLEST_LOG_SHAPE = -16
const LARGEST_LOG_SHAPE = 40

/** Spread of the failures' logs, widened by what was still good: right within a factor of two in ordinary data. */
function startingShape(life: PreparedLife): number {
  const stride = Math.max(1, Math.floor(life.rows / 64))
  let [count, sum, squares] = [0, 0, 0]
  for (let row = 0; row < life.rows; row += stride) {
    const x = life.log[row] as number
    if (x === -Infinity) continue
    count++
    sum += x
    squares += x * x
  }
  const variance = squares / count - (sum / count) ** 2
  // An exponential-like power mean: solves the score for the two moments that were summed
  return Math.min(1e6, Math.max(1e-3, 1.2 / Math.sqrt(Math.max(variance, 1e-12))))
}

/** The score in ln shape over r, with its first two derivatives. */
function score(life: PreparedLife, shape: number, { s0, s1, s2, s3 }: PowerSums): [number, number, number] {
  const mean = s1 / s0
  const second = s2 / s0
  const variance = second - mean * mean
  const third = s3 / s0 - 3 * mean * second + 2 * mean ** 3
  const slope = shape * (life.sumLogFailed / life.failures - mean)
  const bend = shape * shape * variance
  return [1 + slope, slope - bend, slope - 3 * bend - shape ** 3 * third]
}

/** Halley's rule in ln shape, kept inside a bracket that every step narrows; Brent's where it strays. */
function solveShape(life: PreparedLife, start: number): { shape: number; sums: PowerSums } | null {
  let [low, high] = [SMALLEST_LOG_SHAPE, LARGEST_LOG_SHAPE]
  let at = Math.log(start)
  for (let step = 0; step < 25; step++) {
    const shape = Math.exp(at)
    const sums = powerSums(life, shape)
    const [value, slope, bend] = score(life, shape, sums)
    if (value > 0) low = at
    else high = at
    const change = (-2 * value * slope) / (2 * slope * slope - value * bend)
    const next = at + change
    if (!(next > low && next < high)) {
      if (value === 0 || Math.abs(change) < 1e-12) return { shape, sums }
      if (step > 6 || !Number.isFinite(next)) break
      at = (Math.max(low, at - 2) + Math.min(high, at + 2)) / 2
      continue
    }
    at = next
    // Third-order convergence: a step this small leaves an error far below rounding, and moves the sums by their derivatives
    if (Math.abs(change) < 2e-6) return shifted(shape, Math.exp(at), sums)
  }
  return bracketed(life, low, high)
}

function shifted(from: number, to: number, { s0, s1, s2, s3 }: PowerSums): { shape: number; sums: PowerSums } {
  const d = to - from
  return { shape: to, sums: { s0: s0 + d * (s1 + (d / 2) * (s2 + (d / 3) * s3)), s1: s1 + d * (s2 + (d / 2) * s3), s2: s2 + d * s3, s3 } }
}

function bracketed(life: PreparedLife, low: number, high: number): { shape: number; sums: PowerSums } | null {
  const at = (logShape: number) => score(life, Math.exp(logShape), powerSums(life, Math.exp(logShape)))[0]
  if (!(at(low) > 0)) return null
  const shape = Math.exp(findRoot(at, low, high))
  return { shape, sums: powerSums(life, shape) }
}

function describeFit(life: PreparedLife, shape: number, { s0, s1, s2 }: PowerSums): WeibullFit {
  const { failures, sumLogFailed, logOldest, parts } = life
  const mean = s1 / s0
  const offset = Math.log(failures / s0)
  const inner = 1 + shape * shape * (s2 / s0 - mean * mean)
  const tilt = shape * mean + offset
  const share = 1 + (shape * shape * s2) / s0 + 2 * shape * offset * mean + offset * offset
  return {
    finite: true,
    parts,
    failures,
    shape,
    scale: Math.exp(logOldest - offset / shape),
    logLikelihood: failures * (Math.log(shape) + offset - logOldest - 1) + (shape - 1) * sumLogFailed,
    logCovariance: {
      shape: 1 / (failures * inner),
      both: tilt / (shape * failures * inner),
      scale: share / (failures * shape * shape * inner),
    },
  }
}
