/** Mean time between failures of repairable machines, with limits. */
import { chiSquareQuantile, chiSquareUpperQuantile } from '../special/chi-square.js'
import { InvalidInput, requireBetween, requirePositive } from '../special/errors.js'

export interface MtbfAsked {
  /** Operating time of all machines together, in any unit; > 0. */
  totalTime: number
  /** Whole number, ≥ 0. */
  failures: number
  /** Strictly between 0 and 1. */
  confidence: number
  /** 'one': each limit alone at the confidence. */
  sides: 'one' | 'two'
  /** Observation ended at a time, or at the last failure. */
  truncation: 'time' | 'failure'
}

export interface MtbfLimits {
  /** null without a failure. */
  mtbf: number | null
  lower: number
  /** null without a failure: no upper limit can be given. */
  upper: number | null
}

/**
 * lower = 2T / χ²(1 − α; 2r + 2), upper = 2T / χ²(α; 2r) for a constant failure rate; with failure truncation 2r in both.
 * Without failures T / (−ln α). Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1.
 * @throws InvalidInput for a value outside its range, NaN included
 */
export function mtbfLimits({ totalTime, failures, confidence, sides, truncation }: MtbfAsked): MtbfLimits {
  requirePositive('totalTime', totalTime)
  requireBetween('confidence', confidence, 0, 1)
  if (!Number.isInteger(failures) || failures < 0) throw new InvalidInput('failures', 'must be a whole number, 0 or more')
  if (failures === 0 && truncation === 'failure')
    throw new InvalidInput('failures', 'must be at least 1 where observation ended at a failure')
  const alpha = sides === 'two' ? (1 - confidence) / 2 : 1 - confidence
  // Without failures there is no upper limit, so the whole risk stands on the lower one.
  if (failures === 0) return { mtbf: null, lower: totalTime / -Math.log1p(-confidence), upper: null }
  const degrees = truncation === 'time' ? 2 * failures + 2 : 2 * failures
  return {
    mtbf: totalTime / failures,
    lower: (2 * totalTime) / chiSquareUpperQuantile(alpha, degrees),
    upper: (2 * totalTime) / chiSquareQuantile(alpha, 2 * failures),
  }
}

export interface RateLimits {
  rate: number
  lower: number
  upper: number
}

/** Exact two-sided limits of a Poisson rate. Source: Garwood 1936, Biometrika 28:437–442. */
export function poissonRateLimits(count: number, exposure: number, confidence: number): RateLimits {
  requirePositive('exposure', exposure)
  requireBetween('confidence', confidence, 0, 1)
  if (!Number.isInteger(count) || count < 0) throw new InvalidInput('count', 'must be a whole number, 0 or more')
  const alpha = (1 - confidence) / 2
  return {
    rate: count / exposure,
    lower: count === 0 ? 0 : chiSquareQuantile(alpha, 2 * count) / 2 / exposure,
    upper: chiSquareUpperQuantile(alpha, 2 * count + 2) / 2 / exposure,
  }
}

/** Inherent availability: MTBF / (MTBF + MTTR). */
export function inherentAvailability(mtbf: number, mttr: number): number {
  requirePositive('mtbf', mtbf)
  if (!(mttr >= 0)) throw new InvalidInput('mttr', 'must not be negative')
  return mtbf / (mtbf + mttr)
}
