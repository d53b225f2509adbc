/** What a fitted Weibull says of an age or a share, with pointwise limits from the covariance of ln shape and ln scale. */
import { requireBetween, requirePositive } from '../special/errors.js'
import { normalQuantile } from '../special/normal.js'
import type { WeibullFit } from './weibull-fit.js'

export type FittedLife = Pick<WeibullFit, 'shape' | 'scale' | 'logCovariance'>

export interface Banded {
  value: number
  low: number
  high: number
}

/**
 * Share still good at an age. Limits on the scale of u = shape · (ln age − ln scale), whose error does not run out of 0 to 1:
 * Var u = u² V(ln shape) − 2 u shape Cov + shape² V(ln scale).
 * Source: Meeker & Escobar, Statistical Methods for Reliability Data, 1998, section 8.4.3 (delta method on the quantile scale).
 * @param age  > 0, in the unit of the scale
 * @returns dimensionless, low ≤ value ≤ high, all in [0, 1]
 */
export function survivalBand({ shape, scale, logCovariance }: FittedLife, age: number, confidence = 0.95): Banded {
  requirePositive('age', age)
  requireBetween('confidence', confidence, 0, 1)
  const u = shape * Math.log(age / scale)
  const variance = u * u * logCovariance.shape - 2 * u * shape * logCovariance.both + shape * shape * logCovariance.scale
  const reach = normalQuantile((1 + confidence) / 2) * Math.sqrt(Math.max(0, variance))
  const good = (at: number): number => Math.exp(-Math.exp(at))
  return { value: good(u), low: good(u + reach), high: good(u - reach) }
}

/**
 * Age by which a share of new parts has FAILED. ln age = ln scale + w/shape with w = ln(−ln(1 − failedFraction)), so
 * Var ln age = V(ln scale) − 2 (w/shape) Cov + (w/shape)² V(ln shape).
 * Source: Meeker & Escobar 1998, section 8.4.2.
 * @param failedFraction  0 < x < 1   @returns in the unit of the scale, low ≤ value ≤ high
 */
export function ageBand({ shape, scale, logCovariance }: FittedLife, failedFraction: number, confidence = 0.95): Banded {
  requireBetween('failedFraction', failedFraction, 0, 1)
  requireBetween('confidence', confidence, 0, 1)
  const bent = Math.log(-Math.log1p(-failedFraction)) / shape
  const variance = logCovariance.scale - 2 * bent * logCovariance.both + bent * bent * logCovariance.shape
  const factor = Math.exp(normalQuantile((1 + confidence) / 2) * Math.sqrt(Math.max(0, variance)))
  const value = scale * Math.exp(bent)
  return { value, low: value / factor, high: value * factor }
}
