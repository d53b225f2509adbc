/** When a look at a part falls due, and how much life it probably has left. */
import { remainingLife, type Weibull } from './weibull.js'

/**
 * Age at which the chance of having failed since the last look reaches `failedFraction`, given that the part was good at
 * that look. A due moment of a look, not of the part's death.
 * @param ageAtLastLook ≥ 0, in the unit of scale   @param failedFraction 0 ≤ x < 1
 * @example ageAtNextLook({ shape: 1, scale: 10 }, 3, 0.1) // 4.053605156578263
 */
export const ageAtNextLook = (life: Weibull, ageAtLastLook: number, failedFraction: number): number =>
  ageAtLastLook + remainingLife(life, ageAtLastLook, failedFraction)

/** Further use by which 10, 50 and 90 % of parts of this age have failed; shown, and feeds the need for parts. */
export function remainingLifeRange(life: Weibull, age: number): { early: number; likely: number; late: number } {
  return { early: remainingLife(life, age, 0.1), likely: remainingLife(life, age, 0.5), late: remainingLife(life, age, 0.9) }
}
