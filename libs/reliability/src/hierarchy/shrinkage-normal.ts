/** Estimates with known standard errors drawn towards their mean, by three estimates of the spread between. */
import { heterogeneity, momentTau2, pauleMandelTau2, restrictedTau2 } from './between-variance.js'
import { checkEstimates } from './check-estimates.js'
import { effectsGivenTau, weightedMean } from './given-tau.js'

export interface ShrunkAtTau2 {
  tau2: number
  mean: number
  standardError: number
  shrunk: number[]
}

function shrinkAt(estimates: readonly number[], standardErrors: readonly number[], tau2: number): ShrunkAtTau2 {
  const { mean, meanStandardError, effects } = effectsGivenTau(estimates, standardErrors, Math.sqrt(tau2))
  return { tau2, mean, standardError: meanStandardError, shrunk: effects }
}

/**
 * Moment, Paule–Mandel and restricted likelihood estimates of the variance between, and what each makes of the groups.
 * @param estimates at least 2, in any unit   @param standardErrors as many, > 0, in the same unit
 * @throws InvalidInput for lists of unequal length, a standard error not above 0, NaN
 */
export function shrinkNormal(estimates: readonly number[], standardErrors: readonly number[]) {
  checkEstimates(estimates, standardErrors, 2)
  const fixed = weightedMean(estimates, standardErrors, 0)
  const q = heterogeneity(estimates, standardErrors, 0)
  return {
    fixedMean: fixed.mean,
    fixedStandardError: fixed.standardError,
    heterogeneity: q,
    /** Share of the scatter that lies between the groups. Source: Higgins & Thompson 2002, Statistics in Medicine 21:1539–1558. */
    iSquared: q > 0 ? Math.max(0, (q - (estimates.length - 1)) / q) : 0,
    dl: shrinkAt(estimates, standardErrors, momentTau2(estimates, standardErrors)),
    pauleMandelTau2: pauleMandelTau2(estimates, standardErrors),
    reml: shrinkAt(estimates, standardErrors, restrictedTau2(estimates, standardErrors)),
  }
}
