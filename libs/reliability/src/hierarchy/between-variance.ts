/** Estimates of the variance between groups from estimates with known standard errors. */
import { bracketOutward, findRoot } from '../special/root.js'
import { logMarginal, weightedMean } from './given-tau.js'

/** Cochran's Q at a given variance between: Σ (y − mean)² / (s² + τ²). */
export function heterogeneity(estimates: readonly number[], standardErrors: readonly number[], tau2: number): number {
  const { mean } = weightedMean(estimates, standardErrors, tau2)
  return estimates.reduce((sum, estimate, index) => sum + (estimate - mean) ** 2 / (tau2 + (standardErrors[index] as number) ** 2), 0)
}

/** Moment estimate, never below 0. Source: DerSimonian & Laird 1986, Controlled Clinical Trials 7:177–188. */
export function momentTau2(estimates: readonly number[], standardErrors: readonly number[]): number {
  const weights = standardErrors.map((error) => error ** -2)
  const total = weights.reduce((a, b) => a + b, 0)
  const squares = weights.reduce((a, b) => a + b * b, 0)
  const surplus = heterogeneity(estimates, standardErrors, 0) - (estimates.length - 1)
  return surplus > 0 ? surplus / (total - squares / total) : 0
}

/** τ² at which Q equals its degrees of freedom, 0 where it never exceeds them. Source: Paule & Mandel 1982, J. Res. NBS 87:377–385. */
export function pauleMandelTau2(estimates: readonly number[], standardErrors: readonly number[]): number {
  const surplus = (tau2: number): number => heterogeneity(estimates, standardErrors, tau2) - (estimates.length - 1)
  if (surplus(0) <= 0) return 0
  const scale = Math.min(...standardErrors) ** 2
  const bracket = bracketOutward(surplus, 0, scale, Number.MAX_VALUE)
  return bracket ? findRoot(surplus, ...bracket) : 0
}

const GOLDEN = (Math.sqrt(5) - 1) / 2

function sharpen(f: (x: number) => number, low: number, high: number): number {
  let [a, b] = [low, high]
  while (b - a > 1e-10 * Math.max(1, Math.abs(a))) {
    const [left, right] = [b - GOLDEN * (b - a), a + GOLDEN * (b - a)]
    if (f(left) > f(right)) b = right
    else a = left
  }
  return (a + b) / 2
}

/** d/dτ² of twice the restricted log-likelihood, times −1: Σ w − Σ w²/Σ w − Σ w²(y − m)². */
function restrictedScore(estimates: readonly number[], standardErrors: readonly number[], tau2: number): number {
  const { mean } = weightedMean(estimates, standardErrors, tau2)
  let [total, squares, misfit] = [0, 0, 0]
  for (const [index, estimate] of estimates.entries()) {
    const weight = 1 / (tau2 + (standardErrors[index] as number) ** 2)
    total += weight
    squares += weight ** 2
    misfit += weight ** 2 * (estimate - mean) ** 2
  }
  return total - squares / total - misfit
}

/**
 * Restricted maximum likelihood. The likelihood may have more than one top, so ln τ² is swept first, then the best
 * stretch is settled by the root of the score.  Source: Viechtbauer 2005, J. Educ. Behav. Stat. 30:261–293.
 */
export function restrictedTau2(estimates: readonly number[], standardErrors: readonly number[]): number {
  const smallest = Math.min(...standardErrors) ** 2
  const widest = (Math.max(...estimates) - Math.min(...estimates)) ** 2
  if (widest === 0) return 0
  const value = (log: number): number => logMarginal(estimates, standardErrors, Math.exp(log / 2))
  const [from, to, steps] = [Math.log(smallest) - 14, Math.log(Math.max(widest, smallest)) + 3, 240]
  const width = (to - from) / steps
  let best = from
  for (let step = 1; step <= steps; step++) if (value(from + step * width) > value(best)) best = from + step * width
  const top = sharpen(value, best - width, best + width)
  if (logMarginal(estimates, standardErrors, 0) >= value(top)) return 0
  const score = (tau2: number): number => restrictedScore(estimates, standardErrors, tau2)
  const [low, high] = [Math.exp(top) * 0.999, Math.exp(top) * 1.001]
  return score(low) < 0 && score(high) > 0 ? findRoot(score, low, high) : Math.exp(top)
}
