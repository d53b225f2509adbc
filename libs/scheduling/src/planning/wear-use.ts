/** Strips behind lengths that were taken after the last evidence of use: counters are read by the month, brushes measured in between. */
import type { ComponentInPlace, Day } from '../model.js'
import type { UsageForecast } from '../usage/forecast.js'
import { sumOver } from '../usage/sums.js'

type Measured = Pick<ComponentInPlace, 'lengths'> & { fittedOn?: Day | null }

/** The day after which nothing is known of this set's use. */
export const sinceWhen = ({ knownTo }: UsageForecast, { fittedOn }: Measured): Day => Math.max(knownTo, fittedOn ?? knownTo)

/** Strips, in the ledger's measure, that are expected of the days up to this one of which there is no evidence yet. */
export function notYetTold(usage: UsageForecast, set: Measured, day: Day): number {
  return (usage.level / usage.usedFactor) * sumOver(usage.context, usage.context.expected, sinceWhen(usage, set) + 1, day)
}

/** Without this a set measured three weeks after the last reading seems to have worn as much on three weeks less of use. */
export function lengthsByUse(usage: UsageForecast, set: Measured): ComponentInPlace['lengths'] {
  const since = sinceWhen(usage, set)
  if (set.lengths.every(({ on }) => on <= since)) return set.lengths
  return set.lengths.map((one) => {
    const more = notYetTold(usage, set, one.on)
    return { ...one, stripsTotal: one.stripsTotal + more, usedStrips: one.usedStrips === null ? null : one.usedStrips + more }
  })
}
