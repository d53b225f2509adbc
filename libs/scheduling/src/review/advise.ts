/** What a machine's stoppages speak for: keep it, see to its care, move it, overhaul it, or ask whether it is worth it. Pure. */

export type Advice = 'keep' | 'care' | 'lighter_station' | 'overhaul' | 'overhaul_or_replace'

export interface MachineRecord {
  /** Unplanned stoppages begun in the period, as many as `parts` and `causes` have entries. */
  unplanned: number
  /** More of them than chance explains in a fleet of equal machines, by hours in service. */
  standsOut: boolean
  /** The same by strips cut; null where too few machines' use is known. */
  standsOutPerStrip: boolean | null
  /** Strips an hour in service over the median of its type; null where either is not known. */
  timesUsualWork: number | null
  /** Laplace's test over hours in service: above 0 they come ever faster; null without one. */
  trend: { statistic: number; pValue: number } | null
  /** What each was of; null: not named. */
  parts: readonly (string | null)[]
  causes: readonly string[]
  /** Of unplanned stoppages, a year at the pace of the period; null where no cost is stated. */
  costAYear: string | null
}

export interface Advised {
  advice: Advice
  sentence: string
}

/** From fewer, nothing is read but that they are few (assumption, as for all measures of the review). */
export const FEWEST_FOR_ADVICE = 5
/** Work beyond which a lighter station is worth a move (assumption). */
const HEAVY_WORK = 1.5
/** A part or a cause that stands behind half of them or more is what to see to (assumption). */
const MOST = 0.5
const TREND_LEVEL = 0.05
const OF_CARE: ReadonlySet<string> = new Set(['missed_care', 'dried_glue'])

function mostNamed(parts: readonly (string | null)[]): { name: string; count: number } | null {
  const counts = new Map<string, number>()
  for (const name of parts) if (name !== null) counts.set(name, (counts.get(name) ?? 0) + 1)
  const [first] = [...counts].sort(([a, n], [b, m]) => m - n || a.localeCompare(b))
  return first ? { name: first[0], count: first[1] } : null
}

function keepSentence(unplanned: number): string {
  if (unplanned === 0) return 'Keep it.'
  return unplanned < FEWEST_FOR_ADVICE
    ? 'Keep it: so few stoppages say nothing against it.'
    : 'Keep it: it stops no more often than chance explains.'
}

const times = (value: number): string => value.toFixed(1)

/**
 * The gravest that the record supports, with its numbers. What chance explains asks for nothing, so that a fleet of machines
 * that are all alike has one named no more often than the review itself names one; a trend alone names none.
 * Order: care that was missed, work that is heavy, one part, no one part.
 */
export function adviseOn(record: MachineRecord): Advised {
  const { unplanned, standsOut, trend, parts, causes, timesUsualWork } = record
  if (!standsOut) return { advice: 'keep', sentence: keepSentence(unplanned) }
  const ofCare = causes.filter((cause) => OF_CARE.has(cause)).length
  if (ofCare / unplanned >= MOST)
    return {
      advice: 'care',
      sentence: `Keep it, and see to its care: ${ofCare} of its ${unplanned} unplanned stoppages came from care that was missed.`,
    }
  if (record.standsOutPerStrip === false && timesUsualWork !== null && timesUsualWork >= HEAVY_WORK)
    return {
      advice: 'lighter_station',
      sentence: `Move it to a lighter station: it does ${times(timesUsualWork)} times the usual work of its type, and for the strips that it cuts it stops no more often than others.`,
    }
  const faster = trend !== null && unplanned >= FEWEST_FOR_ADVICE && trend.statistic > 0 && trend.pValue < TREND_LEVEL
  const why = `it stops more often than chance explains${faster ? ', and ever faster' : ''}`
  const part = mostNamed(parts)
  if (part && part.count >= 2 && part.count / unplanned >= MOST)
    return { advice: 'overhaul', sentence: `Overhaul it: ${why}; ${part.count} of ${unplanned} were of the ${part.name}.` }
  const cost = record.costAYear === null ? 'No cost of an hour’s stoppage is stated.' : `They cost about ${record.costAYear} a year.`
  return {
    advice: 'overhaul_or_replace',
    sentence: `Overhaul or replace it: ${why}; no one part is behind it. ${cost}`,
  }
}
