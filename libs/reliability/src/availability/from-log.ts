/** Availability of one machine in a period from the log of its stoppages. */
import { InvalidInput } from '../special/errors.js'
import { clip, lengthOf, overlapOf, type Stretch, unionOf } from './intervals.js'

export interface LoggedStoppage {
  kind: 'failure' | 'planned'
  /** Instant, hours on any common scale. */
  downHour: number
  /** null: still open. */
  upHour: number | null
}

/** Hours are elapsed hours; null where nothing failed. */
export interface Availability {
  calendarHours: number
  failures: number
  failureDownHours: number
  plannedDownHours: number
  upHours: number
  upHoursPerFailure: number | null
  meanRepairHoursFinished: number | null
  meanDownHoursOpenIncluded: number | null
  availability: number
  availabilityPlannedNotCounted: number
  failuresPer1000UpHours: number | null
}

const stretchOf = ({ downHour, upHour }: LoggedStoppage, period: Stretch): Stretch =>
  clip({ from: downHour, to: upHour ?? period.to }, period)

function check(period: Stretch, stoppages: readonly LoggedStoppage[]): void {
  if (!(period.to > period.from)) throw new InvalidInput('to', 'must lie after from')
  stoppages.forEach(({ downHour, upHour }, index) => {
    if (upHour !== null && !(upHour >= downHour)) throw new InvalidInput(`stoppages[${index}].up`, 'must not lie before down')
  })
}

/**
 * Definitions as in IEC 60050-192 (availability 192-08, mean operating time between failures 192-05-13).
 * Only what lies within the period counts. A stoppage that began before it adds its hours, but is no failure of the period.
 * Hours down twice at once count once, as failed before planned.
 * @throws InvalidInput where an end lies before its beginning, or the period is empty
 */
export function availabilityFromLog(period: Stretch, stoppages: readonly LoggedStoppage[]): Availability {
  check(period, stoppages)
  const within = (kind: LoggedStoppage['kind']): Stretch[] =>
    unionOf(stoppages.filter((stoppage) => stoppage.kind === kind).map((stoppage) => stretchOf(stoppage, period)))
  const [failed, planned] = [within('failure'), within('planned')]
  const calendarHours = period.to - period.from
  const failureDownHours = lengthOf(failed)
  const plannedDownHours = lengthOf(planned) - overlapOf(failed, planned)
  const upHours = calendarHours - failureDownHours - plannedDownHours
  const own = stoppages.filter(({ kind, downHour }) => kind === 'failure' && downHour >= period.from && downHour < period.to)
  const hours = (list: readonly LoggedStoppage[]): number | null =>
    list.length === 0 ? null : lengthOf(list.map((stoppage) => stretchOf(stoppage, period))) / list.length
  return {
    calendarHours,
    failures: own.length,
    failureDownHours,
    plannedDownHours,
    upHours,
    upHoursPerFailure: own.length === 0 ? null : upHours / own.length,
    meanRepairHoursFinished: hours(own.filter(({ upHour }) => upHour !== null && upHour <= period.to)),
    meanDownHoursOpenIncluded: hours(own),
    availability: upHours / calendarHours,
    availabilityPlannedNotCounted: (upHours + plannedDownHours) / calendarHours,
    failuresPer1000UpHours: upHours > 0 ? (own.length / upHours) * 1000 : null,
  }
}
