/** What is scored: one forecast of one due, and what became true. Simulated fleets and an organisation's own history alike. */
import type { Day } from '../model.js'

export type ScoredTrigger = 'usage' | 'wear' | 'life'
/** Where the forecast was made: on the day of the reset, or about thirty days before the true due. */
export type Origin = 'reset' | 'thirty_days_ahead'

export interface ScoredDue {
  trigger: ScoredTrigger
  origin: Origin
  /** Warehouse: dues of one share what nobody knew there. */
  cluster: string
  early: Day
  /** null: further ahead than the forecast reaches. */
  likely: Day | null
  late: Day | null
  /** Day on which the rule was met; null: not within the time that is known, which lies beyond every day told. */
  trueOn: Day | null
  /** Forecast chances that the due lies before `trueOn`, and on or before it; null where they were not kept. */
  chance: { before: number; upTo: number } | null
  /** What the two plain rules would have said; null: the rule has no answer yet. */
  fixedMonthsOn: Day | null
  lastRepeatedOn: Day | null
}

export interface Place {
  /** Shares of this due that count as before early and after late: 0 or 1, in between where an atom lies across the bound. */
  below: number
  above: number
}

const share = (part: number): number => Math.min(1, Math.max(0, part))

/**
 * Where the true day lies. On the early or the late day itself the forecast has an atom across 10 or 90 %: the randomised
 * probability integral transform would put a random part of it outside; here its expected part counts, which adds no noise.
 * Source: Czado, Gneiting and Held 2009, Biometrics 65:1254–1261, section 2 (their non-random transform).
 */
export function placeOf({ early, late, trueOn, chance }: Pick<ScoredDue, 'early' | 'late' | 'trueOn' | 'chance'>): Place {
  const at = trueOn ?? Number.POSITIVE_INFINITY
  const last = late ?? Number.POSITIVE_INFINITY
  const atom = chance === null ? 0 : chance.upTo - chance.before
  const below = at < early ? 1 : at > early || chance === null || atom <= 0 ? 0 : share((0.1 - chance.before) / atom)
  const above = at > last ? 1 : at < last || chance === null || atom <= 0 ? 0 : share((chance.upTo - 0.9) / atom)
  return { below, above }
}

/** Mean pinball loss, days, of the days told for 10, 50 and 90 %. Source: Koenker and Bassett 1978, Econometrica 46:33–50. */
export function pinballLoss(early: Day, likely: Day, late: Day, trueOn: Day): number {
  const loss = (level: number, day: Day): number => (trueOn >= day ? level * (trueOn - day) : (1 - level) * (day - trueOn))
  return (loss(0.1, early) + loss(0.5, likely) + loss(0.9, late)) / 3
}
