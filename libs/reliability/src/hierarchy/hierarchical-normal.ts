/** Groups with known standard errors under a normal hierarchy, integrated over the spread between them. */
import { requireBetween, requireNotNegative } from '../special/errors.js'
import { normalCdf } from '../special/normal.js'
import { findRoot } from '../special/root.js'
import { heterogeneity, momentTau2 } from './between-variance.js'
import { checkEstimates } from './check-estimates.js'
import { effectsGivenTau, weightedMean } from './given-tau.js'
import { tauPosterior, weightyNodes } from './tau-posterior.js'

interface Component {
  weight: number
  mean: number
  sd: number
}

/** Quantile of a mixture of normals. */
export function mixtureQuantile(components: readonly Component[], probability: number): number {
  const spans = components.map(({ mean, sd }) => ({ low: mean - 9 * sd, high: mean + 9 * sd }))
  const low = Math.min(...spans.map((span) => span.low))
  const high = Math.max(...spans.map((span) => span.high))
  const surplus = (x: number): number =>
    components.reduce((sum, { weight, mean, sd }) => sum + weight * normalCdf((x - mean) / sd), 0) - probability
  // Far chances may lie outside nine sds of every component only by rounding.
  if (surplus(low) >= 0) return low
  if (surplus(high) <= 0) return high
  return findRoot(surplus, low, high, 1e-9 * (high - low))
}

/**
 * Moment figures, effects at stated spreads, and the whole posterior under a flat prior on the mean and on tau ≥ 0.
 * Source: Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, 5.4–5.5.
 * @param estimates at least 3 (fewer leave no proper posterior), any unit   @param standardErrors as many, > 0
 * @param taus spreads ≥ 0 to condition on   @param quantiles strictly between 0 and 1
 */
export function hierarchicalNormal(
  estimates: readonly number[],
  standardErrors: readonly number[],
  taus: readonly number[],
  quantiles: readonly number[],
) {
  checkEstimates(estimates, standardErrors, 3)
  taus.forEach((tau, index) => requireNotNegative(`taus[${index}]`, tau))
  quantiles.forEach((at, index) => requireBetween(`quantiles[${index}]`, at, 0, 1))
  const fixed = weightedMean(estimates, standardErrors, 0)
  const posterior = tauPosterior(estimates, standardErrors)
  const conditionals = weightyNodes(posterior.nodes).map(({ tau, weight }) => ({
    weight,
    ...effectsGivenTau(estimates, standardErrors, tau),
  }))
  const mixtures = estimates.map((_, index) =>
    conditionals.map(({ weight, effects, effectSds }) => ({ weight, mean: effects[index] as number, sd: effectSds[index] as number })),
  )
  return {
    fixedMean: fixed.mean,
    fixedStandardError: fixed.standardError,
    heterogeneity: heterogeneity(estimates, standardErrors, 0),
    dlTau2: momentTau2(estimates, standardErrors),
    tauQuantiles: quantiles.map((at) => posterior.quantile(at)),
    givenTau: taus.map((tau) => effectsGivenTau(estimates, standardErrors, tau)),
    effectMeans: mixtures.map((mixture) => mixture.reduce((sum, { weight, mean }) => sum + weight * mean, 0)),
    effectQuantiles: mixtures.map((mixture) => quantiles.map((at) => mixtureQuantile(mixture, at))),
  }
}
