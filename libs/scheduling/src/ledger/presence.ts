/** Where a machine was and whether it worked there, day by day, and its share of a station's work. */
import type { Day } from '../model.js'
import type { MachineForLedger } from './input.js'
import { shareInside, type ShiftTable } from './shift-minutes.js'

type Placed = Pick<MachineForLedger, 'machineId' | 'placements' | 'statuses'>

/** Share of the day's shift minutes on which the machine was in service; 1 where nothing is said of its status. */
export function inServiceShare(shifts: ShiftTable, machine: Placed, day: Day): number {
  if (machine.statuses.length === 0) return 1
  return machine.statuses.reduce(
    (sum, { status, from, to }) => (status === 'in_service' ? sum + shareInside(shifts, day, from, to) : sum),
    0,
  )
}

/** Was it in service at any time on these days, closed days included? */
export function wasInService({ statuses }: Placed, from: Day, to: Day): boolean {
  return (
    statuses.length === 0 ||
    statuses.some((period) => period.status === 'in_service' && period.from.day <= to && (period.to === null || period.to.day >= from))
  )
}

export function firstPlacedOn({ placements }: Placed): Day | null {
  return placements[0]?.from.day ?? null
}

/** Its claim on a station's work of one day: stated share times the share of shift minutes it stood there in service. */
function claimOn(shifts: ShiftTable, machine: Placed, stationId: string, day: Day): number {
  let claim = 0
  for (const placement of machine.placements)
    if (placement.stationId === stationId)
      claim += placement.share * shareInside(shifts, day, placement.from, placement.to) * inServiceShare(shifts, machine, day)
  return claim
}

/** Shares of a station's work on a day, summing to 1; empty where no machine stood there in service. */
export function sharesOfStation(shifts: ShiftTable, machines: readonly Placed[], stationId: string, day: Day): Map<string, number> {
  const claims = machines.flatMap((machine): [string, number][] => {
    const claim = claimOn(shifts, machine, stationId, day)
    return claim > 0 ? [[machine.machineId, claim]] : []
  })
  const total = claims.reduce((sum, [, claim]) => sum + claim, 0)
  return new Map(claims.map(([machineId, claim]) => [machineId, claim / total]))
}
