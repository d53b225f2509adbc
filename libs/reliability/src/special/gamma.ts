/**
 * Gamma function family. The implementations are those of @stdlib (ports of Boost and Cephes) where their accuracy holds,
 * and our own beyond; tests hold them against published values. Here they get names, units and one policy for bad input.
 */
import gammainc from '@stdlib/math-base-special-gammainc'
import gammaincinv from '@stdlib/math-base-special-gammaincinv'
import gammaln from '@stdlib/math-base-special-gammaln'
import { requireBetween, requireNotNegative, requirePositive } from './errors.js'
import { gammaPrefix, largeGammaPair } from './gamma-large.js'

/** Beyond, @stdlib's incomplete gamma function is wrong near the shape. */
const FARTHEST_TRUSTED = 990
/** Beyond, its inverse reaches such arguments in the tails. */
const LARGEST_TRUSTED_SHAPE = 200

/** ln Γ(x), x > 0. Relative error < 1e-14. */
export function logGamma(x: number): number {
  requirePositive('x', x)
  return gammaln(x)
}

/**
 * Chance that a gamma-distributed quantity with scale 1 is at most x: regularised lower incomplete gamma P(shape, x).
 * Relative error < 1e-13 down to 1e-290. Source: NIST Digital Library of Mathematical Functions, 8.2.4.
 * @param shape dimensionless, > 0   @param x in units of the scale, ≥ 0
 * @example gammaLower(1, 2) // 0.8646647167633873
 */
export function gammaLower(shape: number, x: number): number {
  requirePositive('shape', shape)
  requireNotNegative('x', x)
  return x > FARTHEST_TRUSTED ? largeGammaPair(shape, x)[0] : gammainc(x, shape, true, false)
}

/** Chance that it is above x: Q(shape, x) = 1 − P(shape, x), accurate where that is tiny. */
export function gammaUpper(shape: number, x: number): number {
  requirePositive('shape', shape)
  requireNotNegative('x', x)
  return x > FARTHEST_TRUSTED ? largeGammaPair(shape, x)[1] : gammainc(x, shape, true, true)
}

/**
 * x below which a gamma-distributed quantity with scale 1 lies with the given chance. Relative error < 1e-13.
 * @param probability 0 < p < 1   @param shape dimensionless, > 0
 * @example gammaQuantile(0.5, 1) // 0.6931471805599453
 */
export function gammaQuantile(probability: number, shape: number): number {
  requireBetween('probability', probability, 0, 1)
  requirePositive('shape', shape)
  const near = gammaincinv(probability, shape, false)
  return shape > LARGEST_TRUSTED_SHAPE ? polished(near, shape, probability, 1 - probability) : near
}

/**
 * x that is exceeded with the given chance, accurate where that chance is tiny.
 * @stdlib's inverse loses up to 4e-4 beyond 1e-45, so its answer is polished there.
 */
export function gammaUpperQuantile(exceedProbability: number, shape: number): number {
  requireBetween('exceedProbability', exceedProbability, 0, 1)
  requirePositive('shape', shape)
  const near = gammaincinv(exceedProbability, shape, true)
  const trusted = exceedProbability > 1e-8 && shape <= LARGEST_TRUSTED_SHAPE
  return trusted || !(near > 0) ? near : polished(near, shape, 1 - exceedProbability, exceedProbability)
}

/** Newton's rule on the logarithm of the smaller of the two chances, from a start that is off by a few thousandths. */
function polished(start: number, shape: number, below: number, above: number): number {
  const upper = above < below
  let x = start
  for (let step = 0; step < 20; step++) {
    const chance = upper ? gammaUpper(shape, x) : gammaLower(shape, x)
    const density = (gammaPrefix(shape, x) * shape) / x
    if (!(chance > 0 && density > 0)) break
    const wanted = upper ? above : below
    const change = ((upper ? 1 : -1) * Math.log(chance / wanted) * chance) / density
    x += change
    if (Math.abs(change) <= 1e-15 * x) break
  }
  return x
}

/**
 * e^x · Γ(shape, x), the upper incomplete gamma function freed of its exponential decay, so that it neither
 * underflows nor divides 0 by 0 for large x. Continued fraction DLMF 8.9.2 by Lentz' rule where x > shape + 1.
 */
export function scaledUpperGamma(shape: number, x: number): number {
  requirePositive('shape', shape)
  requireNotNegative('x', x)
  if (x <= shape + 1) return Math.exp(gammaln(shape) + x) * gammaUpper(shape, x)
  let b = x + 1 - shape
  let c = 1e300
  let d = 1 / b
  let fraction = d
  for (let i = 1; i < 10_000; i++) {
    const a = -i * (i - shape)
    b += 2
    d = 1 / (a * d + b)
    c = b + a / c
    fraction *= d * c
    if (Math.abs(d * c - 1) < 1e-16) break
  }
  return Math.exp(shape * Math.log(x)) * fraction
}
