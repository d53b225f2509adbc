/** Group means drawn towards a grand mean, when each group was measured several times. */
import { InvalidInput, requireFinite } from '../special/errors.js'
import { findRoot } from '../special/root.js'

interface Group {
  size: number
  mean: number
}

/** What the restricted likelihood says at a given ratio of the variances, between over within. */
function atRatio(groups: readonly Group[], within: number, ratio: number) {
  const weights = groups.map(({ size }) => size / (1 + size * ratio))
  const total = weights.reduce((a, b) => a + b, 0)
  const mean = groups.reduce((sum, group, index) => sum + (weights[index] as number) * group.mean, 0) / total
  const misfit = groups.reduce((sum, group, index) => sum + (weights[index] as number) * (group.mean - mean) ** 2, 0)
  const freedom = groups.reduce((sum, { size }) => sum + size, 0) - 1
  const varianceWithin = (within + misfit) / freedom
  const determinants = groups.reduce((sum, { size }) => sum + Math.log1p(size * ratio), 0)
  const logLikelihood = -(freedom * (Math.log(2 * Math.PI * varianceWithin) + 1) + determinants + Math.log(total)) / 2
  return { weights, total, mean, varianceWithin, freedom, logLikelihood }
}

/** d/dratio of the restricted log-likelihood. */
function scoreAt(groups: readonly Group[], within: number, ratio: number): number {
  const { weights, total, mean, varianceWithin } = atRatio(groups, within, ratio)
  let [trace, squares, misfit] = [0, 0, 0]
  for (const [index, group] of groups.entries()) {
    const weight = weights[index] as number
    trace += weight
    squares += weight ** 2
    misfit += weight ** 2 * (group.mean - mean) ** 2
  }
  return (misfit / varianceWithin + squares / total - trace) / 2
}

/** The likelihood may have two tops, so the ratio is swept on a log scale before the score's root is taken. */
function bestRatio(groups: readonly Group[], within: number): number {
  const value = (log: number): number => atRatio(groups, within, Math.exp(log)).logLikelihood
  const [from, to, steps] = [-23, 46, 345]
  let best = from
  for (let step = 1; step <= steps; step++) {
    const log = from + ((to - from) * step) / steps
    if (value(log) > value(best)) best = log
  }
  if (atRatio(groups, within, 0).logLikelihood >= value(best)) return 0
  const score = (log: number): number => scoreAt(groups, within, Math.exp(log))
  const width = (to - from) / steps
  return score(best - width) > 0 && score(best + width) < 0 ? Math.exp(findRoot(score, best - width, best + width)) : Math.exp(best)
}

/** Closed form for equally many measurements: mean squares between and within. */
function balancedRatio(groups: readonly Group[], within: number, size: number): number {
  const mean = groups.reduce((sum, group) => sum + group.mean, 0) / groups.length
  const between = (size * groups.reduce((sum, group) => sum + (group.mean - mean) ** 2, 0)) / (groups.length - 1)
  const inside = within / (groups.length * (size - 1))
  return Math.max(0, (between / inside - 1) / size)
}

/**
 * One-way random effects by restricted maximum likelihood. Source: Searle, Casella & McCulloch, Variance Components, 1992,
 * 3.8; Pinheiro & Bates 2000, 1.1. Exact for groups of one size, iterated for unequal ones.
 * @param measured at least 2 groups of at least 1 value, one group of at least 2; any unit
 * @returns weight: of a group's own mean (null where groups differ in size); weights: each group's
 * @throws InvalidInput for too few values, NaN, or no scatter within the groups
 */
export function hierarchicalMeans(measured: readonly (readonly number[])[]) {
  if (measured.length < 2) throw new InvalidInput('groups', 'must be at least 2')
  measured.forEach((values, index) => {
    if (values.length === 0) throw new InvalidInput(`groups[${index}]`, 'must hold at least one value')
    values.forEach((value, place) => requireFinite(`groups[${index}][${place}]`, value))
  })
  const groups = measured.map((values) => ({ size: values.length, mean: values.reduce((a, b) => a + b, 0) / values.length }))
  const within = measured.reduce(
    (sum, values, index) => sum + values.reduce((part, value) => part + (value - (groups[index] as Group).mean) ** 2, 0),
    0,
  )
  if (measured.every((values) => values.length === 1)) throw new InvalidInput('groups', 'must hold one group of at least 2 values')
  if (within === 0) throw new InvalidInput('groups', 'must scatter within at least one group')
  const size = (groups[0] as Group).size
  const balanced = groups.every((group) => group.size === size)
  const ratio = balanced ? balancedRatio(groups, within, size) : bestRatio(groups, within)
  const { total, mean, varianceWithin, logLikelihood } = atRatio(groups, within, ratio)
  const shares = groups.map((group) => (group.size * ratio) / (1 + group.size * ratio))
  return {
    grandMean: mean,
    grandMeanStandardError: Math.sqrt(varianceWithin / total),
    varianceBetween: ratio * varianceWithin,
    varianceWithin,
    weight: balanced ? (shares[0] as number) : null,
    weights: shares,
    shrunk: groups.map((group, index) => mean + (shares[index] as number) * (group.mean - mean)),
    restrictedLogLikelihood: logLikelihood,
  }
}
