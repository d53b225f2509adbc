/** A log of stoppages in local times, for the calculation of availability. */
import { type Availability, availabilityFromLog } from '@tapewarden/reliability'
import { instantOf } from './zones.js'

export interface LocalStoppage {
  kind: 'failure' | 'planned'
  /** 'YYYY-MM-DDTHH:mm' in the zone. */
  down: string
  up: string | null
}

/** Hours are elapsed hours: a night on which the clocks change has one more or one fewer. */
export function availabilityOfLog(zone: string, from: string, to: string, stoppages: readonly LocalStoppage[]): Availability {
  // Counted from the period's start: hours since 1970 would cost three digits.
  const start = instantOf(zone, 'from', from)
  const hour = (field: string, local: string): number => (instantOf(zone, field, local) - start) / 3_600_000
  return availabilityFromLog(
    { from: 0, to: hour('to', to) },
    stoppages.map(({ kind, down, up }, index) => ({
      kind,
      downHour: hour(`stoppages[${index}].down`, down),
      upHour: up === null ? null : hour(`stoppages[${index}].up`, up),
    })),
  )
}
