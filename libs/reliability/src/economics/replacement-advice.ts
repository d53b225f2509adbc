/** Whether to advise replacing a part at an age, with the data behind it. */
import { ageReplacement, ageReplacementCostRate, type AgeReplacement, type ReplacementCosts } from './age-replacement.js'
import type { Weibull } from '../life/weibull.js'

/** cannot-tell: the data do not show that the part wears out (lower 95 % bound of the shape not above 1). */
export type ReplacementAdvice = 'replace-at-age' | 'does-not-pay' | 'cannot-tell'

export interface AdvisedReplacement extends AgeReplacement {
  advice: ReplacementAdvice
}

/**
 * @param shapeLower95 one-sided lower 95 % bound of the shape from the data; null where there are too few
 */
export function adviseReplacement(life: Weibull, costs: ReplacementCosts, shapeLower95: number | null): AdvisedReplacement {
  const found = ageReplacement(life, costs)
  const wearsOut = shapeLower95 !== null && shapeLower95 > 1
  return { ...found, advice: !wearsOut ? 'cannot-tell' : found.pays ? 'replace-at-age' : 'does-not-pay' }
}

/** What a longer or shorter interval would cost, per unit of age, beside the one in force. */
export function costOfIntervals(life: Weibull, costs: ReplacementCosts, current: number, others: readonly number[]) {
  const now = ageReplacementCostRate(life, costs, current)
  return others.map((age) => {
    const costRate = ageReplacementCostRate(life, costs, age)
    return { age, costRate, changeFraction: costRate / now - 1 }
  })
}
