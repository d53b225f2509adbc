/** When a trigger's rule is met: on a day, after so many further strips, or after a time that is known only so well. */
import { normalCdf, normalQuantile } from '@tapewarden/reliability'
import type { Day } from '../model.js'

/** Remaining strips at which a trigger falls due, with weights that sum to 1; one node where it is certain. */
export interface StripsNode {
  remaining: number
  weight: number
}

/** Time after `from` until the rule is met: its logarithm is normal. It does not depend on use. */
export interface UncertainDays {
  kind: 'uncertain_days'
  from: Day
  /** Of ln(days). */
  logMean: number
  /** > 0 */
  logSd: number
}

export type DueMoment = { kind: 'day'; day: Day } | { kind: 'strips'; from: Day; nodes: readonly StripsNode[] } | UncertainDays

/** Chance that the rule was met up to and including a day. */
export function chanceOfDays({ from, logMean, logSd }: UncertainDays, day: Day): number {
  return day <= from ? 0 : normalCdf((Math.log(day - from) - logMean) / logSd)
}

/** First day on which that chance reaches `probability`. */
export function dayOfChance({ from, logMean, logSd }: UncertainDays, probability: number): Day {
  return from + Math.max(1, Math.ceil(Math.exp(logMean + logSd * normalQuantile(probability))))
}
