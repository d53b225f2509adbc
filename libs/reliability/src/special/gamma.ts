/**
 * Gamma function family. The implementations are those of @stdlib (ports of Boost and Cephes); tests hold them
 * against published values. Here they get names, units and one policy for bad input.
 */
import gammainc from '@stdlib/math-base-special-gammainc'
import gammaincinv from '@stdlib/math-base-special-gammaincinv'
import gammaln from '@stdlib/math-base-special-gammaln'
import { requireBetween, requireNotNegative, requirePositive } from './errors.js'

/** ln Γ(x), x > 0. */
export function logGamma(x: number): number {
  requirePositive('x', x)
  return gammaln(x)
}

/**
 * Chance that a gamma-distributed quantity with scale 1 is at most x: regularised lower incomplete gamma P(shape, x).
 * Source: NIST Digital Library of Mathematical Functions, 8.2.4.
 */
export function gammaLower(shape: number, x: number): number {
  requirePositive('shape', shape)
  requireNotNegative('x', x)
  return gammainc(x, shape, true, false)
}

/** Chance that it is above x: Q(shape, x) = 1 − P(shape, x), accurate where that is tiny. */
export function gammaUpper(shape: number, x: number): number {
  requirePositive('shape', shape)
  requireNotNegative('x', x)
  return gammainc(x, shape, true, true)
}

/** x below which a gamma-distributed quantity with scale 1 lies with the given chance. */
export function gammaQuantile(probability: number, shape: number): number {
  requireBetween('probability', probability, 0, 1)
  requirePositive('shape', shape)
  return gammaincinv(probability, shape, false)
}
