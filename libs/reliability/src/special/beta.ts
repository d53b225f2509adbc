/** The beta distribution, from @stdlib. */
import betainc from '@stdlib/math-base-special-betainc'
import quantile from '@stdlib/stats-base-dists-beta-quantile'
import { InvalidInput, requireBetween, requirePositive } from './errors.js'

/** Chance that a beta-distributed share is at most `share`, 0 ≤ share ≤ 1. Source: DLMF 8.17.2. Relative error < 1e-12. */
export function betaCdf(share: number, a: number, b: number): number {
  if (!(share >= 0 && share <= 1)) throw new InvalidInput('share', 'must lie between 0 and 1')
  requirePositive('a', a)
  requirePositive('b', b)
  return betainc(share, a, b)
}

/**
 * Share below which a beta-distributed share lies with the given chance. Relative error < 1e-13.
 * @example betaQuantile(0.5, 2, 2) // 0.5
 */
export function betaQuantile(probability: number, a: number, b: number): number {
  requireBetween('probability', probability, 0, 1)
  requirePositive('a', a)
  requirePositive('b', b)
  return quantile(probability, a, b)
}
