/** The normal distribution, from @stdlib's error function. */
import erfc from '@stdlib/math-base-special-erfc'
import erfcinv from '@stdlib/math-base-special-erfcinv'
import { requireBetween } from './errors.js'

/** Φ(z), accurate in both tails. Source: DLMF 7.18 with Φ(z) = erfc(−z/√2)/2. */
export function normalCdf(z: number): number {
  return 0.5 * erfc(-z / Math.SQRT2)
}

/** z below which a standard normal lies with the given chance. */
export function normalQuantile(probability: number): number {
  requireBetween('probability', probability, 0, 1)
  return -Math.SQRT2 * erfcinv(2 * probability)
}
