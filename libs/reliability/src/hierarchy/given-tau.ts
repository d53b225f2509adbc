/** Normal estimates of several groups, given the spread between the groups. */

export interface GivenTau {
  tau: number
  mean: number
  meanStandardError: number
  /** Each estimate drawn towards the mean, in the order of the groups. */
  effects: number[]
  effectSds: number[]
}

/** Weighted mean of the groups, and what is left of each group's own distance from it. */
export function weightedMean(estimates: readonly number[], standardErrors: readonly number[], tau2: number) {
  let total = 0
  let moment = 0
  for (const [index, estimate] of estimates.entries()) {
    const weight = 1 / (tau2 + (standardErrors[index] as number) ** 2)
    total += weight
    moment += weight * estimate
  }
  return { mean: moment / total, standardError: Math.sqrt(1 / total) }
}

/**
 * Effects drawn towards the mean by τ²/(τ² + s²), the mean's own error included in their sd.
 * Source: Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, equations 5.17 and 5.20.
 */
export function effectsGivenTau(estimates: readonly number[], standardErrors: readonly number[], tau: number): GivenTau {
  const tau2 = tau ** 2
  const { mean, standardError } = weightedMean(estimates, standardErrors, tau2)
  const own = standardErrors.map((error) => tau2 / (tau2 + error ** 2))
  return {
    tau,
    mean,
    meanStandardError: standardError,
    effects: estimates.map((estimate, index) => mean + (own[index] as number) * (estimate - mean)),
    effectSds: standardErrors.map((error, index) => {
      const share = own[index] as number
      return Math.sqrt(share * error ** 2 + ((1 - share) * standardError) ** 2)
    }),
  }
}

/** ln of ∏ N(estimate; mean, s² + τ²) integrated over a flat mean, without its constants. Source: ibid., 5.21. */
export function logMarginal(estimates: readonly number[], standardErrors: readonly number[], tau: number): number {
  const { mean, standardError } = weightedMean(estimates, standardErrors, tau ** 2)
  let log = Math.log(standardError)
  for (const [index, estimate] of estimates.entries()) {
    const variance = tau ** 2 + (standardErrors[index] as number) ** 2
    log -= (Math.log(variance) + (estimate - mean) ** 2 / variance) / 2
  }
  return log
}
