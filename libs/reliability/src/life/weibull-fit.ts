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
 * Source: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed. 2003, chapter 5.
 * A finite maximum exists exactly where some failure is strictly younger than the oldest observed age; where every part
 * entered late, the score at shape 0 must be positive as well.
 * @returns the fit, or the reason why there is none   @throws InvalidInput for data that cannot be ages
 * @example fitWeibull({ time: [1, 2, 3, 4], failed: [1, 1, 1, 0] }).shape // 1.8315…
 * Relative error of shape and scale < 1e-12. Two or three passes over the data.
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
/** Rows of the sample that finds the starting shape: few beside a thousand, enough for a tenth. */
const SAMPLE = 96

/** The shape that a sample of every so many rows gives, or from the spread of the logs where there are few rows. */
function startingShape(life: PreparedLife): number {
  const stride = Math.floor(life.log.length / SAMPLE)
  if (stride < 3 || life.entryLog) return shapeFromSpread(life)
  const sample = everyNth(life, stride)
  if (sample.failures < 8 || !sample.failureBeforeOldest) return shapeFromSpread(life)
  return solveShape(sample, shapeFromSpread(sample), 1e-2)?.shape ?? shapeFromSpread(life)
}

function everyNth(life: PreparedLife, stride: number): PreparedLife {
  const rows = Math.floor(life.log.length / stride)
  const log = new Float64Array(rows)
  const weight = life.weight ? new Float64Array(rows) : null
  let [failures, sumLogFailed] = [0, 0]
  for (let row = 0; row < rows; row++) {
    const x = life.log[row * stride] as number
    const parts = life.weight ? (life.weight[row * stride] as number) : 1
    log[row] = x
    if (weight) weight[row] = parts
    if (!life.failed[row * stride]) continue
    failures += parts
    sumLogFailed += parts * x
  }
  return { ...life, log, weight, failures, sumLogFailed, failureBeforeOldest: sumLogFailed < 0 }
}

/** A sample of one normal spread: the logs of Weibull ages vary by 1.28/shape, those of ages cut short by somewhat less. */
function shapeFromSpread(life: PreparedLife): number {
  let [sum, squares] = [0, 0]
  for (let row = 0; row < life.log.length; row++) {
    const x = life.log[row] as number
    sum += x
    squares += x * x
  }
  const variance = squares / life.log.length - (sum / life.log.length) ** 2
  return Math.min(1e6, Math.max(1e-3, 1.2 / Math.sqrt(Math.max(variance, 1e-12))))
}

/** The score in ln shape over r, with its first three derivatives, through the cumulants of ln t under weights t^shape. */
function score(life: PreparedLife, shape: number, { s0, s1, s2, s3, s4 }: PowerSums): [number, number, number, number] {
  const [m1, m2, m3, m4] = [s1 / s0, s2 / s0, s3 / s0, s4 / s0]
  const second = shape ** 2 * (m2 - m1 * m1)
  const third = shape ** 3 * (m3 - 3 * m1 * m2 + 2 * m1 ** 3)
  const fourth = shape ** 4 * (m4 - 4 * m3 * m1 - 3 * m2 * m2 + 12 * m2 * m1 * m1 - 6 * m1 ** 4)
  const pull = shape * (life.sumLogFailed / life.failures - m1)
  return [1 + pull, pull - second, pull - 3 * second - third, pull - 7 * second - 6 * third - fourth]
}

/** Householder's step of fourth order: the error of the next point goes with the fourth power of this one's. */
function householder([f, f1, f2, f3]: [number, number, number, number]): number {
  return (-f * (6 * f1 * f1 - 3 * f * f2)) / (6 * f1 ** 3 - 6 * f * f1 * f2 + f * f * f3)
}

/**
 * Householder steps in ln shape, kept inside a bracket that every step narrows; Brent's rule where they stray.
 * @param settled a step this small is the last: what it leaves is of the order of its fourth power
 */
function solveShape(life: PreparedLife, start: number, settled = 4e-4): { shape: number; sums: PowerSums } | null {
  let [low, high] = [SMALLEST_LOG_SHAPE, LARGEST_LOG_SHAPE]
  let at = Math.log(start)
  for (let step = 0; step < 12; step++) {
    const shape = Math.exp(at)
    const sums = powerSums(life, shape)
    const values = score(life, shape, sums)
    if (values[0] > 0) low = at
    else high = at
    const change = householder(values)
    const next = at + change
    if (!(next >= low && next <= high) || Math.abs(change) > 2) {
      if (Math.abs(change) < 1e-12) return { shape, sums }
      // Newton's rule from a side where the score is steep overshoots; a bounded step back does not
      at = Math.min(high - (high - at) / 2, Math.max(low + (at - low) / 2, at + Math.max(-1, Math.min(1, -values[0] / values[1]))))
      continue
    }
    at = next
    if (Math.abs(change) < settled) return shifted(shape, Math.exp(at), sums)
  }
  return bracketed(life, low, high)
}

/** The sums at a near shape by their Taylor series: S_k is the derivative of S_(k−1). */
function shifted(from: number, to: number, { s0, s1, s2, s3, s4 }: PowerSums): { shape: number; sums: PowerSums } {
  const d = to - from
  return {
    shape: to,
    sums: {
      s0: s0 + d * (s1 + (d / 2) * (s2 + (d / 3) * (s3 + (d / 4) * s4))),
      s1: s1 + d * (s2 + (d / 2) * (s3 + (d / 3) * s4)),
      s2: s2 + d * (s3 + (d / 2) * s4),
      s3: s3 + d * s4,
      s4,
    },
  }
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
