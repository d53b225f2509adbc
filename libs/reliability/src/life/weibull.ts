/** The Weibull life distribution, exact where ages are far beyond the scale or far below it. */
import { InvalidInput, requireNotNegative, requirePositive } from '../special/errors.js'
import { logGamma, scaledUpperGamma } from '../special/gamma.js'

/** Both in the same unit as the ages asked about. */
export interface Weibull {
  /** Dimensionless, > 0; above 1 means wear-out. */
  shape: number
  /** Age by which 63.2 % have failed, > 0. */
  scale: number
}

function check({ shape, scale }: Weibull): void {
  requirePositive('shape', shape)
  requirePositive('scale', scale)
}

/** H(age) = (age/scale)^shape, so that exp(−H) survive. Source: Nelson, Applied Life Data Analysis, 1982, section 2.4. */
export function cumulativeHazard({ shape, scale }: Weibull, age: number): number {
  check({ shape, scale })
  requireNotNegative('age', age)
  return (age / scale) ** shape
}

/**
 * Hazard gathered between an age and `more` later: H(age + more) − H(age), without the loss of digits of the difference.
 */
export function addedHazard({ shape, scale }: Weibull, age: number, more: number): number {
  check({ shape, scale })
  requireNotNegative('age', age)
  requireNotNegative('more', more)
  if (more === 0) return 0
  const ratio = more / age
  const growth = shape * (ratio < 1e300 ? Math.log1p(ratio) : Math.log(more) - Math.log(age))
  // Where the hazard grows e^40-fold, what it was is lost in the rounding, and the product might be 0 · ∞
  if (growth > 40) return ((age + more) / scale) ** shape
  return (age / scale) ** shape * Math.expm1(growth)
}

/** Chance that a part good at `age` is still good `more` later. */
export const conditionalSurvival = (life: Weibull, age: number, more: number): number => Math.exp(-addedHazard(life, age, more))

/** Chance that a part good at `age` fails within `more`; accurate where tiny. */
export const conditionalFailure = (life: Weibull, age: number, more: number): number => -Math.expm1(-addedHazard(life, age, more))

/**
 * Further use after which a given share of the parts good at `age` has FAILED.
 * t = scale · (H(age) − ln(1 − failedFraction))^(1/shape) − age. Source: inversion of the conditional survival above.
 * @param failedFraction 0 ≤ x < 1 (failures, not survivors)
 * @returns in the unit of scale, ≥ 0   @throws InvalidInput for a value outside these, NaN included
 * @example remainingLife({ shape: 1, scale: 1000 }, 777, 0.5) // 693.1471805599452
 * Relative error < 1e-12 even where survival to `age` underflows.
 */
export function remainingLife(life: Weibull, age: number, failedFraction: number): number {
  check(life)
  requireNotNegative('age', age)
  if (!(failedFraction >= 0 && failedFraction < 1)) throw new InvalidInput('failedFraction', 'must be at least 0 and below 1')
  const needed = -Math.log1p(-failedFraction)
  if (needed === 0) return 0
  if (age === 0) return life.scale * needed ** (1 / life.shape)
  const logHazard = life.shape * Math.log(age / life.scale)
  const ratio = needed / Math.exp(logHazard)
  // ln(1 + needed/H): through log1p where H is large, through the logs where H would underflow
  const growth = ratio < 1e8 ? Math.log1p(ratio) : Math.log(needed) - logHazard + Math.log1p(1 / ratio)
  // An age e^40 times shorter than what is left takes nothing off it
  if (growth / life.shape > 40) return life.scale * (needed + Math.exp(logHazard)) ** (1 / life.shape)
  return age * Math.expm1(growth / life.shape)
}

/** Age by which a given share of new parts has failed. */
export const ageAtFailedFraction = (life: Weibull, failedFraction: number): number => remainingLife(life, 0, failedFraction)

/** Mean life of a new part: scale · Γ(1 + 1/shape). */
export function meanLife(life: Weibull): number {
  check(life)
  return life.scale * Math.exp(logGamma(1 + 1 / life.shape))
}

/**
 * Mean further life of a part good at `age`: (scale/shape) · e^H · Γ(1/shape, H), H = H(age).
 * Source: ∫ R(x) dx / R(age) with x = scale · h^(1/shape); DLMF 8.2.2.
 * @example meanRemainingLife({ shape: 1, scale: 1000 }, 777) // 1000
 */
export function meanRemainingLife(life: Weibull, age: number): number {
  const hazard = cumulativeHazard(life, age)
  // Where H underflows, nothing fails before this age
  if (hazard === 0) return meanLife(life) - age
  if (hazard === Infinity) return 0
  return (life.scale / life.shape) * scaledUpperGamma(1 / life.shape, hazard)
}
