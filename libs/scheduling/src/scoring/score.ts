/** How far the dates can be trusted: shares of true dues before, between and after the days told, and losses against plain rules. */
import { type Clustered, clusteredMean } from './clustered.js'
import { pinballLoss, placeOf, type ScoredDue } from './scored-due.js'

export interface DateScore {
  dues: number
  clusters: number
  /** Wanted: 0.8 between, 0.1 on either side. */
  between: Clustered
  belowEarly: Clustered
  aboveLate: Clustered
  /** Mean pinball loss in days over the dues for which all three rules have an answer. */
  pinball: { compared: number; ours: number; fixedMonths: number; lastRepeated: number; betterThanBest: number } | null
}

function pinballOf(dues: readonly ScoredDue[]): DateScore['pinball'] {
  let [ours, fixedMonths, lastRepeated, compared] = [0, 0, 0, 0]
  for (const { early, likely, late, trueOn, fixedMonthsOn, lastRepeatedOn } of dues) {
    if (likely === null || late === null || trueOn === null || fixedMonthsOn === null || lastRepeatedOn === null) continue
    compared++
    ours += pinballLoss(early, likely, late, trueOn)
    fixedMonths += pinballLoss(fixedMonthsOn, fixedMonthsOn, fixedMonthsOn, trueOn)
    lastRepeated += pinballLoss(lastRepeatedOn, lastRepeatedOn, lastRepeatedOn, trueOn)
  }
  if (compared === 0) return null
  const best = Math.min(fixedMonths, lastRepeated)
  return {
    compared,
    ours: ours / compared,
    fixedMonths: fixedMonths / compared,
    lastRepeated: lastRepeated / compared,
    betterThanBest: best > 0 ? 1 - ours / best : 0,
  }
}

/** @param dues any number, in any order; purely calendar dues are left out by the caller, since they must be exact */
export function scoreDates(dues: readonly ScoredDue[]): DateScore {
  const clusters = dues.map(({ cluster }) => cluster)
  const places = dues.map(placeOf)
  return {
    dues: dues.length,
    clusters: new Set(clusters).size,
    between: clusteredMean(
      places.map(({ below, above }) => 1 - below - above),
      clusters,
    ),
    belowEarly: clusteredMean(
      places.map(({ below }) => below),
      clusters,
    ),
    aboveLate: clusteredMean(
      places.map(({ above }) => above),
      clusters,
    ),
    pinball: pinballOf(dues),
  }
}
