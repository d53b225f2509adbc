/**
 * Failure rates of the machines of a fleet, drawn towards the fleet's, and which of them are worse than chance explains.
 * How much machines differ is not estimated but integrated over, so that few machines give no false certainty.
 */
import betainc from '@stdlib/math-base-special-betainc'
import { EIGHT_POINTS } from '../hierarchy/gauss-legendre.js'
import { InvalidInput, requireBetween, requirePositive } from '../special/errors.js'
import { gammaLower, gammaQuantile, logGamma } from '../special/gamma.js'
import { findRoot } from '../special/root.js'
import { sum } from './sum.js'

export interface Counted {
  /** Whole number of failures. */
  failures: number
  /** Hours (or any unit) watched, > 0. */
  exposure: number
}

export interface Compared {
  ownRate: number
  shrunkRate: number
  /** 90 % limits of the machine's rate. */
  low: number
  high: number
  /** Chance of so many failures or more if all machines were alike, given the fleet's total. */
  pValue: number
  /** True only where chance alone would name any machine of such a fleet at most so often as asked. */
  worseThanFleet: boolean
}

/** Prior of the relative spread between machines: half-normal, scale one half (assumption). */
const SPREAD_SCALE = 0.5
const SPREADS = EIGHT_POINTS.map(([x, weight]) => ({ spread: 0.75 * (1 + x), weight }))
/** Nodes of less weight than this move no limit by a tenth of a per cent. */
const LEAST_WEIGHT = 1e-4

/** ln chance of the counts when each machine's rate is gamma with the fleet's mean and the given relative spread. */
function logMarginal(machines: readonly Counted[], mean: number, spread: number): number {
  const shape = spread ** -2
  const rate = shape / mean
  return sum(
    machines.map(
      ({ failures, exposure }) =>
        logGamma(shape + failures) - logGamma(shape) - shape * Math.log1p(exposure / rate) + failures * -Math.log(rate + exposure),
    ),
  )
}

function spreadNodes(machines: readonly Counted[], mean: number): { shape: number; weight: number }[] {
  const logs = SPREADS.map(({ spread }) => logMarginal(machines, mean, spread) - (spread / SPREAD_SCALE) ** 2 / 2)
  const top = Math.max(...logs)
  const masses = SPREADS.map(({ weight }, index) => weight * Math.exp((logs[index] as number) - top))
  const least = LEAST_WEIGHT * sum(masses)
  const kept = SPREADS.map(({ spread }, index) => ({ shape: spread ** -2, weight: masses[index] as number })).filter(
    ({ weight }) => weight > least,
  )
  const total = sum(kept.map(({ weight }) => weight))
  return kept.map(({ shape, weight }) => ({ shape, weight: weight / total }))
}

/** Quantile of a mixture of gammas, sought beside that of the one gamma with the same mean and variance. */
function quantileOf(parts: readonly { weight: number; shape: number; rate: number }[], probability: number): number {
  const below = (x: number): number => sum(parts.map(({ weight, shape, rate }) => weight * gammaLower(shape, rate * x))) - probability
  const mean = sum(parts.map(({ weight, shape, rate }) => (weight * shape) / rate))
  const square = sum(parts.map(({ weight, shape, rate }) => (weight * shape * (shape + 1)) / rate ** 2))
  const variance = square - mean ** 2
  const near = (gammaQuantile(probability, mean ** 2 / variance) * variance) / mean
  let [low, high] = [near * 0.8, near * 1.25]
  if (below(low) > 0) low = 0
  while (below(high) < 0) high = 2 * high + mean
  return findRoot(below, low, high, 1e-6 * mean)
}

/** P(at least `failures`) of a binomial. Source: DLMF 8.17.5. */
function atLeast(failures: number, total: number, share: number): number {
  if (failures === 0 || share === 1) return 1
  return betainc(share, failures, total - failures + 1)
}

/** Holm's step-down: at most `falseAlarms` chance of naming any machine that is like the others. Source: Holm 1979, Scand. J. Statistics 6:65–70. */
function namedByHolm(pValues: readonly number[], falseAlarms: number): boolean[] {
  const order = pValues.map((pValue, index) => ({ pValue, index })).sort((a, b) => a.pValue - b.pValue)
  const named = pValues.map(() => false)
  for (const [place, { pValue, index }] of order.entries()) {
    if (pValue > falseAlarms / (order.length - place)) break
    named[index] = true
  }
  return named
}

function check(machines: readonly Counted[]): void {
  machines.forEach(({ failures, exposure }, index) => {
    requirePositive(`machines[${index}].exposure`, exposure)
    if (!Number.isInteger(failures) || failures < 0)
      throw new InvalidInput(`machines[${index}].failures`, 'must be a whole number, 0 or more')
  })
}

/**
 * Which machines fail more often than chance explains.
 * @param falseAlarms chance that a fleet of equal machines has one named
 */
export function worseThanChance(machines: readonly Counted[], falseAlarms = 0.05): { pValue: number; worseThanFleet: boolean }[] {
  requireBetween('falseAlarms', falseAlarms, 0, 1)
  check(machines)
  const total = sum(machines.map(({ failures }) => failures))
  const watched = sum(machines.map(({ exposure }) => exposure))
  const pValues = machines.map(({ failures, exposure }) => atLeast(failures, total, exposure / watched))
  const named = namedByHolm(pValues, falseAlarms)
  return pValues.map((pValue, index) => ({ pValue, worseThanFleet: named[index] as boolean }))
}

/**
 * Each machine's rate drawn towards the fleet's, with 90 % limits, and whether it is worse than chance explains.
 * @param machines may be empty; the fleet's mean rate is taken as known (with no failure at all: half a failure)
 */
export function compareWithFleet(machines: readonly Counted[], falseAlarms = 0.05): Compared[] {
  if (machines.length === 0) return []
  const verdicts = worseThanChance(machines, falseAlarms)
  const total = sum(machines.map(({ failures }) => failures))
  const mean = Math.max(total, 0.5) / sum(machines.map(({ exposure }) => exposure))
  const nodes = spreadNodes(machines, mean)
  return machines.map(({ failures, exposure }, index) => {
    const parts = nodes.map(({ shape, weight }) => ({ weight, shape: shape + failures, rate: shape / mean + exposure }))
    return {
      ownRate: failures / exposure,
      shrunkRate: sum(parts.map(({ weight, shape, rate }) => (weight * shape) / rate)),
      low: quantileOf(parts, 0.05),
      high: quantileOf(parts, 0.95),
      ...(verdicts[index] as { pValue: number; worseThanFleet: boolean }),
    }
  })
}
