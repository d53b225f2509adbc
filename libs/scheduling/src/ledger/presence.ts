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

/** Its claim on a station's work of one day: stated share times the share of shift minutes it stood there in service. */
function claimOn(shifts: ShiftTable, machine: Placed, stationId: string, day: Day): number {
  let claim = 0
  for (const placement of machine.placements)
    if (placement.stationId === stationId)
      claim += placement.share * shareInside(shifts, day, placement.from, placement.to) * inServiceShare(shifts, machine, day)
  return claim
}

/** Before anything stood there by the books: what came into them there first is taken to have worked there already. */
function claimsBeforeBooks(shifts: ShiftTable, machines: readonly Placed[], stationId: string, day: Day): [string, number][] {
  const here = machines.flatMap((machine) => {
    const [first] = machine.placements
    return first?.stationId === stationId ? [{ machine, first }] : []
  })
  const firstDay = Math.min(...here.map(({ first }) => first.from.day))
  if (day > firstDay) return []
  return here.flatMap(({ machine, first }): [string, number][] =>
    first.from.day === firstDay ? [[machine.machineId, first.share * inServiceShare(shifts, machine, day)]] : [],
  )
}

/** Shares of a station's work on a day, summing to 1; empty where no machine stood there in service. */
export function sharesOfStation(shifts: ShiftTable, machines: readonly Placed[], stationId: string, day: Day): Map<string, number> {
  const inBooks = machines.map((machine): [string, number] => [machine.machineId, claimOn(shifts, machine, stationId, day)])
  const someone = inBooks.some(([, claim]) => claim > 0)
  const claims = (someone ? inBooks : claimsBeforeBooks(shifts, machines, stationId, day)).filter(([, claim]) => claim > 0)
  const total = claims.reduce((sum, [, claim]) => sum + claim, 0)
  return new Map(claims.map(([machineId, claim]) => [machineId, claim / total]))
}
