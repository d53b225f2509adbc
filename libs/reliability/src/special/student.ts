/** Student's t. Quantile from @stdlib, distribution function from the incomplete beta function. */
import betainc from '@stdlib/math-base-special-betainc'
import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { requireBetween, requireFinite, requirePositive } from './errors.js'

/**
 * Chance that t with the given degrees of freedom is at most `t`. Source: Abramowitz & Stegun 26.7.1, 26.5.27.
 * Relative error < 1e-12 in both tails.
 */
export function studentCdf(t: number, degreesOfFreedom: number): number {
  requireFinite('t', t)
  requirePositive('degreesOfFreedom', degreesOfFreedom)
  const tail = studentTail(Math.abs(t), degreesOfFreedom)
  return t > 0 ? 1 - tail : tail
}

/** Chance of lying above t ≥ 0; near 0 by the complement, whose argument keeps its digits there. */
function studentTail(t: number, degreesOfFreedom: number): number {
  const square = t * t
  if (square < degreesOfFreedom) return 0.5 * betainc(square / (degreesOfFreedom + square), 0.5, degreesOfFreedom / 2, true, true)
  return 0.5 * betainc(degreesOfFreedom / (degreesOfFreedom + square), degreesOfFreedom / 2, 0.5)
}

/**
 * t below which Student's t lies with the given chance. Relative error < 1e-11.
 * @example studentQuantile(0.975, 10) // 2.2281388519862744
 */
export function studentQuantile(probability: number, degreesOfFreedom: number): number {
  requireBetween('probability', probability, 0, 1)
  requirePositive('degreesOfFreedom', degreesOfFreedom)
  return tQuantile(probability, degreesOfFreedom)
}
