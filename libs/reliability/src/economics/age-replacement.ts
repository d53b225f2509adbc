/** Is it cheaper to replace a part at an age than to wait until it fails? */
import { requirePositive } from '../special/errors.js'
import { gammaLower, gammaUpper, logGamma } from '../special/gamma.js'
import { findRoot } from '../special/root.js'
import { meanLife, type Weibull } from '../life/weibull.js'

/** Costs in one currency or in hours, whichever; failureCost is the whole cost of a failure, the replacement included. */
export interface ReplacementCosts {
  plannedCost: number
  failureCost: number
}

export interface AgeReplacement {
  /** A finite optimum exists and saves at least 1 % of the cost of running to failure. */
  pays: boolean
  /** Age of least cost; null where none is finite. */
  age: number | null
  costRate: number | null
  runToFailureCostRate: number
  savingFraction: number | null
  /** Share that fails before the age is reached. */
  failedFractionAtAge: number | null
  meanCycle: number | null
  /** All ages that cost at most 5 % more than the least; upper end null: running to failure does as well. */
  flatRegion: { from: number; to: number | null } | null
}

const LEAST_SAVING = 0.01
const FLAT_WITHIN = 1.05

function check(life: Weibull, { plannedCost, failureCost }: ReplacementCosts): void {
  requirePositive('shape', life.shape)
  requirePositive('scale', life.scale)
  requirePositive('plannedCost', plannedCost)
  requirePositive('failureCost', failureCost)
}

/**
 * Mean length of a cycle that ends at failure or at the age: ∫₀ᴬ R = mean life · P(1/shape, H(A)).
 * Where H(A) is no more than rounding, nothing fails before the age: the cycle is the age.
 */
function cycleAt(life: Weibull, hazard: number, age: number): number {
  return hazard < 1e-18 ? age : meanLife(life) * gammaLower(1 / life.shape, Math.min(hazard, Number.MAX_VALUE))
}

function rateAt(life: Weibull, costs: ReplacementCosts, hazard: number, age: number): number {
  const failed = -Math.expm1(-hazard)
  return (costs.plannedCost * Math.exp(-hazard) + costs.failureCost * failed) / cycleAt(life, hazard, age)
}

/**
 * Mean cost per unit of age when parts are replaced at `age` or at failure, whichever comes first:
 * C(T) = [planned R(T) + failure F(T)] / ∫₀ᵀ R(x) dx.
 * Source: Barlow & Proschan, Mathematical Theory of Reliability, 1965, chapter 3.
 * @param age > 0, in the unit of scale
 */
export function ageReplacementCostRate(life: Weibull, costs: ReplacementCosts, age: number): number {
  check(life, costs)
  requirePositive('age', age)
  return rateAt(life, costs, (age / life.scale) ** life.shape, age)
}

export const runToFailureCostRate = (life: Weibull, costs: ReplacementCosts): number => costs.failureCost / meanLife(life)

/**
 * Hazard gathered at the best age. With H = (T/scale)^shape the optimum solves
 * shape · H^(1−1/shape) · ∫₀ᵀR/scale − F = planned/(failure − planned), whose left side rises from 0 without bound where
 * the shape is above 1. Solved in ln H; far out the integral is its full value and the root is in closed form.
 */
function bestLogHazard({ shape }: Weibull, { plannedCost, failureCost }: ReplacementCosts): number | null {
  if (!(shape > 1 && failureCost > plannedCost)) return null
  const wanted = plannedCost / (failureCost - plannedCost)
  const a = 1 / shape
  const logGammaA = logGamma(a)
  const far = (Math.log1p(wanted) - logGammaA) / (1 - a)
  if (far > 4 && gammaUpper(a, Math.exp(Math.min(far, 600))) < 1e-18) return far
  const excess = (logHazard: number) => {
    const hazard = Math.exp(logHazard)
    return Math.exp((1 - a) * logHazard + logGammaA) * gammaLower(a, hazard) + Math.expm1(-hazard) - wanted
  }
  let low = Math.min(Math.log(wanted / (shape - 1)) - 1, 0)
  while (excess(low) > 0) low -= 2
  let high = Math.max(low + 2, 1)
  while (excess(high) < 0) high += 2
  return findRoot(excess, low, high, 1e-14)
}

/**
 * The age of least cost and what it saves. A finite one exists only where the hazard rises (shape above 1) and a
 * failure costs more than a planned replacement.
 * @example ageReplacement({ shape: 2.5, scale: 1000 }, { plannedCost: 1, failureCost: 5 }).age // 493.0469…
 */
export function ageReplacement(life: Weibull, costs: ReplacementCosts): AgeReplacement {
  check(life, costs)
  const runToFailure = runToFailureCostRate(life, costs)
  const logHazard = bestLogHazard(life, costs)
  const age = logHazard === null ? Infinity : life.scale * Math.exp(logHazard / life.shape)
  if (logHazard === null || !Number.isFinite(age)) return withoutOptimum(runToFailure)
  const hazard = Math.exp(logHazard)
  const costRate = rateAt(life, costs, hazard, age)
  const savingFraction = savingAt(life, costs, hazard)
  return {
    pays: savingFraction >= LEAST_SAVING,
    age,
    costRate,
    runToFailureCostRate: runToFailure,
    savingFraction,
    failedFractionAtAge: -Math.expm1(-hazard),
    meanCycle: cycleAt(life, hazard, age),
    flatRegion: flatRegion(life, costs, logHazard, costRate),
  }
}

/** 1 − C/C∞ = [P − F − planned/failure · R]/P, with P − F = R − Q, so that a small saving keeps its digits. */
function savingAt({ shape }: Weibull, { plannedCost, failureCost }: ReplacementCosts, hazard: number): number {
  const survival = Math.exp(-hazard)
  const beyond = gammaUpper(1 / shape, hazard)
  return (survival * (1 - plannedCost / failureCost) - beyond) / gammaLower(1 / shape, hazard)
}

function withoutOptimum(runToFailure: number): AgeReplacement {
  return {
    pays: false,
    age: null,
    costRate: null,
    runToFailureCostRate: runToFailure,
    savingFraction: null,
    failedFractionAtAge: null,
    meanCycle: null,
    flatRegion: null,
  }
}

/** The curve falls to its only low point and rises after it, so each end is one root. */
function flatRegion(life: Weibull, costs: ReplacementCosts, bestLog: number, least: number): { from: number; to: number | null } {
  const ageOf = (logHazard: number) => life.scale * Math.exp(logHazard / life.shape)
  const above = (logHazard: number) => rateAt(life, costs, Math.exp(logHazard), ageOf(logHazard)) - FLAT_WITHIN * least
  const end = (direction: 1 | -1): number => {
    // A large shape needs many e-folds of hazard for a little of age
    let step = 1
    while (above(bestLog + direction * step) <= 0) step *= 2
    return bestLog + direction * step
  }
  const low = end(-1)
  const from = ageOf(findRoot(above, low, bestLog, 1e-12))
  if (runToFailureCostRate(life, costs) <= FLAT_WITHIN * least) return { from, to: null }
  return { from, to: ageOf(findRoot(above, bestLog, end(1), 1e-12)) }
}

/** The best among whole multiples of a step (visits every so many days). null ages as in `ageReplacement`. */
export function steppedAgeReplacement(
  life: Weibull,
  costs: ReplacementCosts,
  step: number,
): { age: number | null; costRate: number | null } {
  requirePositive('step', step)
  const { age } = ageReplacement(life, costs)
  if (age === null) return { age: null, costRate: null }
  const below = Math.max(1, Math.floor(age / step))
  const rates = [below, below + 1].map((multiple) => {
    const at = multiple * step
    return { age: at, costRate: ageReplacementCostRate(life, costs, at) }
  })
  return rates.reduce((best, other) => (other.costRate < best.costRate ? other : best))
}
