/** The true life of blades, in years, and the age at which a look at one falls due by it. The mixture of truth-machine's bladeLifeYears. */

/** Share of blades that hold longer than an age. */
export function trueSurvival(years: number): number {
  return 0.15 * Math.exp(-((years / 5) ** 1.1)) + 0.85 * Math.exp(-((years / 14.5) ** 3.2))
}

/** Age at which a tenth of the blades that were good at `lookedAt` have failed. Bisection to a thousandth of a day. */
export function trueLookAge(lookedAt: number, failedFraction: number): number {
  const wanted = trueSurvival(lookedAt) * (1 - failedFraction)
  let low = lookedAt
  let high = lookedAt + 60
  while (high - low > 2e-6) {
    const middle = (low + high) / 2
    if (trueSurvival(middle) <= wanted) high = middle
    else low = middle
  }
  return high
}
