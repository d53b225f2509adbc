/**
 * Levels of several groups on the log scale, drawn towards each other. The spread between the groups is not estimated but
 * integrated over under a half-normal prior, since its moment estimate is often 0 with few groups and would give false
 * certainty.  Source: Gelman 2006, Bayesian Analysis 1:515–534 (half-normal as the light-tailed member of its family).
 */
import { requireFinite, requirePositive } from '../special/errors.js'
import { checkEstimates } from './check-estimates.js'
import { EIGHT_POINTS } from './gauss-legendre.js'
import type { TauNode } from './tau-posterior.js'

/** What is known of a level without looking at the groups. */
export interface LevelBelief {
  mean: number
  sd: number
}

export interface PooledLevels {
  /** Of the groups' common mean. */
  mean: number
  meanSe: number
  /** The spread's own posterior, sixteen nodes. */
  tauNodes: readonly TauNode[]
  /** In the order of the estimates. */
  shrunk: number[]
  shrunkSd: number[]
  /** For a group of this kind without evidence: the common mean's error and the spread between together. */
  predictive: LevelBelief
}

interface Given {
  mean: number
  variance: number
  logMarginal: number
}

function givenTau(estimates: readonly number[], errors: readonly number[], tau: number, parent: LevelBelief | undefined): Given {
  let [total, moment, squares, logs] = parent ? [parent.sd ** -2, 0, 0, 0] : [0, 0, 0, 0]
  // Counted from the first estimate or the parent, so that squares do not cancel.
  const origin = parent?.mean ?? (estimates[0] as number)
  for (const [index, estimate] of estimates.entries()) {
    const variance = tau ** 2 + (errors[index] as number) ** 2
    const distance = estimate - origin
    total += 1 / variance
    moment += distance / variance
    squares += distance ** 2 / variance
    logs += Math.log(variance)
  }
  return { mean: origin + moment / total, variance: 1 / total, logMarginal: -(logs + Math.log(total) + squares - moment ** 2 / total) / 2 }
}

/**
 * Narrows [0, 5 prior scales] to where the posterior of tau has weight, then puts two stretches of eight points on it.
 * In x = ln(tau + bend) the power tail of tau falls exponentially, and 0 is still reached.
 */
function nodesOf(logDensity: (tau: number) => number, tauScale: number, bend: number): TauNode[] {
  const tauOf = (x: number): number => Math.max(0, Math.exp(x) - bend)
  const logOf = (x: number): number => logDensity(tauOf(x)) + x
  let [low, high] = [Math.log(bend), Math.log(5 * tauScale + bend)]
  for (let round = 0; round < 4; round++) {
    const width = (high - low) / 24
    const points = Array.from({ length: 25 }, (_, index) => low + index * width)
    const logs = points.map(logOf)
    const top = Math.max(...logs)
    const first = logs.findIndex((log) => log > top - 16)
    const last = logs.findLastIndex((log) => log > top - 16)
    const [from, to] = [points[Math.max(0, first - 1)] as number, points[Math.min(24, last + 1)] as number]
    if (to - from > 0.8 * (high - low)) break
    ;[low, high] = [from, to]
  }
  const half = (high - low) / 4
  const nodes = [low + half, low + 3 * half].flatMap((middle) => EIGHT_POINTS.map(([x, weight]) => ({ x: middle + half * x, weight })))
  const logs = nodes.map(({ x }) => logOf(x))
  const top = Math.max(...logs)
  const masses = nodes.map(({ weight }, index) => weight * Math.exp((logs[index] as number) - top))
  const total = masses.reduce((a, b) => a + b, 0)
  return nodes.map(({ x }, index) => ({ tau: tauOf(x), weight: (masses[index] as number) / total }))
}

/** Mean and sd of a mixture. */
function mixed(parts: readonly { weight: number; mean: number; variance: number }[]): LevelBelief {
  const mean = parts.reduce((sum, part) => sum + part.weight * part.mean, 0)
  const variance = parts.reduce((sum, part) => sum + part.weight * (part.variance + (part.mean - mean) ** 2), 0)
  return { mean, sd: Math.sqrt(variance) }
}

/**
 * @param estimates ln of each group's level; may be empty where a parent is given
 * @param standardErrors as many, > 0, of the logarithms
 * @param tauScale scale of the half-normal prior of the spread between, > 0
 * @param parent belief about the common mean from the level above; left out: nothing is known
 */
export function poolLogEstimates(
  estimates: readonly number[],
  standardErrors: readonly number[],
  tauScale: number,
  parent?: LevelBelief,
): PooledLevels {
  checkEstimates(estimates, standardErrors, parent ? 0 : 1)
  requirePositive('tauScale', tauScale)
  if (parent) {
    requireFinite('parent.mean', parent.mean)
    requirePositive('parent.sd', parent.sd)
  }
  const at = (tau: number): Given => givenTau(estimates, standardErrors, tau, parent)
  const middle = standardErrors.toSorted((a, b) => a - b)[Math.floor(standardErrors.length / 2)]
  const bend = Math.min(tauScale, middle ?? tauScale)
  const tauNodes = nodesOf((tau) => at(tau).logMarginal - (tau / tauScale) ** 2 / 2, tauScale, bend)
  const given = tauNodes.map(({ tau, weight }) => ({ tau, weight, ...at(tau) }))
  const common = mixed(given)
  const own = estimates.map((estimate, index) =>
    mixed(
      given.map(({ tau, weight, mean, variance }) => {
        const error = (standardErrors[index] as number) ** 2
        const share = tau ** 2 / (tau ** 2 + error)
        return { weight, mean: mean + share * (estimate - mean), variance: share * error + (1 - share) ** 2 * variance }
      }),
    ),
  )
  return {
    mean: common.mean,
    meanSe: common.sd,
    tauNodes,
    shrunk: own.map(({ mean }) => mean),
    shrunkSd: own.map(({ sd }) => sd),
    predictive: mixed(given.map(({ tau, weight, mean, variance }) => ({ weight, mean, variance: variance + tau ** 2 }))),
  }
}

export interface LogGroup {
  estimates: readonly number[]
  standardErrors: readonly number[]
}

/**
 * Two levels: members within groups, groups within the whole, the whole under a stated default (a labelled assumption).
 * The belief that a group's members get from above is made of the other groups only, so no evidence counts twice.
 * @param groups a group may be empty   @param more means of other groups, worked out elsewhere
 * @param tauScales leastBetween: a group is never believed nearer to the others than so, however alike they are
 * @returns one result a group, in order
 */
export function shrinkTowardsGroups(
  groups: readonly LogGroup[],
  tauScales: { within: number; between: number; leastBetween?: number },
  stated: LevelBelief,
  more: readonly Pick<PooledLevels, 'mean' | 'meanSe'>[] = [],
): PooledLevels[] {
  const alone = groups.map(({ estimates, standardErrors }) =>
    estimates.length === 0 ? null : poolLogEstimates(estimates, standardErrors, tauScales.within),
  )
  return groups.map(({ estimates, standardErrors }, index) => {
    const others = [...alone.filter((group, other) => other !== index && group !== null), ...more] as Pick<
      PooledLevels,
      'mean' | 'meanSe'
    >[]
    const above = poolLogEstimates(
      others.map(({ mean }) => mean),
      others.map(({ meanSe }) => meanSe),
      tauScales.between,
      stated,
    )
    const { mean, sd } = above.predictive
    return poolLogEstimates(estimates, standardErrors, tauScales.within, { mean, sd: Math.max(sd, tauScales.leastBetween ?? 0) })
  })
}
