/** What is believed of a part's life before its own removals are seen. */
import { requirePositive } from '../special/errors.js'
import { InvalidInput } from '../special/errors.js'

export interface NormalPrior {
  mean: number
  sd: number
}

/** Independent normal beliefs about ln(shape) and ln(scale), the scale in the unit of the ages. */
export interface WeibullPrior {
  logShape: NormalPrior
  logScale: NormalPrior
}

/** A range of trade: ages by which 5 % and 95 % of the parts have failed (common practice, no source). */
export interface LifeRange {
  fivePercent: number
  ninetyFivePercent: number
}

/** How many observations the prior is worth (assumption of the design). */
export const PRIOR_WORTH = 3

/**
 * Weibull through two points: shape = ln(ln 0.05/ln 0.95)/ln(high/low), scale = high · (−ln 0.05)^(−1/shape).
 * @example weibullThrough({ fivePercent: 5, ninetyFivePercent: 20 }).shape // 2.934…
 */
export function weibullThrough({ fivePercent, ninetyFivePercent }: LifeRange): { shape: number; scale: number } {
  requirePositive('fivePercent', fivePercent)
  requirePositive('ninetyFivePercent', ninetyFivePercent)
  if (!(fivePercent < ninetyFivePercent)) throw new InvalidInput('fivePercent', 'must be below ninetyFivePercent')
  const [early, late] = [-Math.log(0.95), -Math.log(0.05)]
  const shape = Math.log(late / early) / Math.log(ninetyFivePercent / fivePercent)
  return { shape, scale: ninetyFivePercent * late ** (-1 / shape) }
}

/**
 * Prior worth `worth` complete observations: the standard errors of ln shape and ln scale of a complete sample of that
 * size, 0.78/√worth and 1.053/(shape √worth). Source: the Fisher information of a complete Weibull sample gives the variances 0.608 and 1.109/shape² over its size.
 * @param unitsPerRangeUnit converts the range into the unit of the ages, such as strips a year
 */
export function priorFromRange(range: LifeRange, unitsPerRangeUnit = 1, worth = PRIOR_WORTH): WeibullPrior {
  requirePositive('unitsPerRangeUnit', unitsPerRangeUnit)
  requirePositive('worth', worth)
  const { shape, scale } = weibullThrough(range)
  return {
    logShape: { mean: Math.log(shape), sd: 0.78 / Math.sqrt(worth) },
    logScale: { mean: Math.log(scale * unitsPerRangeUnit), sd: 1.053 / (shape * Math.sqrt(worth)) },
  }
}
