/** Which machines stand still more often than chance explains. Pure. */
import { worseThanChance } from '@tapewarden/reliability'

export interface Watched {
  unplanned: number
  hoursObserved: number
}
/** A fleet of machines that are all alike has one named in at most this share of reviews. */
export const FALSE_ALARMS = 0.05

/** @returns one a machine, in their order; false for what was not in service in the period */
export function standOut(machines: readonly Watched[]): boolean[] {
  const watched = machines.flatMap(({ unplanned, hoursObserved }, index) =>
    hoursObserved > 0 ? [{ index, failures: unplanned, exposure: hoursObserved }] : [],
  )
  const named = machines.map(() => false)
  // One machine alone differs from nobody.
  if (watched.length < 2) return named
  worseThanChance(watched, FALSE_ALARMS).forEach(({ worseThanFleet }, at) => (named[watched[at]?.index ?? 0] = worseThanFleet))
  return named
}

/** In words, for the head of the review. */
export function saysWhoStandsOut(labels: readonly string[], stoppages: number): string {
  if (labels.length === 0)
    return stoppages === 0
      ? ''
      : 'No machine stood still more often than chance explains in a fleet of equal machines: that one comes first is no verdict on it.'
  const [one, ...others] = labels
  return others.length === 0
    ? `${one} stood still more often than chance explains.`
    : `${labels.slice(0, -1).join(', ')} and ${labels.at(-1)} stood still more often than chance explains.`
}
