/** Evidence other than counters: strips, cartons, rolls and taps, brought to strips over whole days of one machine. */
import type { Day, UsageInterval } from '../model.js'
import type { LedgerInput, MachineForLedger, RawEvidence, SetAside } from './input.js'
import { mostOnDays } from './counters.js'
import { inServiceShare, sharesOfStation, wasInService } from './presence.js'
import { type ShiftTable, weightOfDay } from './shift-minutes.js'

/** Relative error of each kind, common to a machine's past and future (assumptions). */
export const KIND_ERROR: Readonly<Record<UsageInterval['kind'], number>> = { counter: 0, strips: 0, cartons: 0.13, rolls: 0.06, tap: 0.5 }
/** What one tap a month says of a type's usual day (assumption). */
export const TAP_SHARE: Readonly<Record<string, number>> = { all_day: 1, some_hours: 0.4, seldom: 0.05 }

export interface StripsOver {
  machineId: string
  from: Day
  to: Day
  strips: number
  kind: Exclude<UsageInterval['kind'], 'counter'>
}

type Take = (piece: StripsOver) => void

const aside = (evidence: RawEvidence, code: SetAside['code'], reason: string): SetAside => ({ evidenceId: evidence.id, code, reason })

function ofMachine(input: LedgerInput, shifts: ShiftTable, machine: MachineForLedger, evidence: RawEvidence, take: Take): SetAside | null {
  const { from, to, kind } = evidence
  if (!wasInService(machine, from, to))
    return aside(
      evidence,
      'NOT_IN_SERVICE',
      'The machine was not in service then. Correct the day, or the day on which the machine was commissioned, or dismiss it.',
    )
  if (kind === 'monthly_tap') return tapStrips(input, shifts, machine, evidence, take)
  const amount = evidence.amount ?? 0
  const strips = kind === 'rolls' ? (amount * (evidence.detail.rollMetres ?? 0) * 1000) / machine.meanStripMm : amount
  const most = mostOnDays(shifts, machine, from, to)
  if (strips > most)
    return aside(
      evidence,
      'MORE_THAN_IT_CAN_CUT',
      `${Math.round(strips)} strips are more than this machine can cut in its shifts then. Correct the amount, or dismiss it.`,
    )
  take({ machineId: machine.machineId, from, to, strips, kind: kind === 'rolls' ? 'rolls' : 'strips' })
  return null
}

/** Only working days that have passed: a month that still runs counts as far as it has come. */
function tapStrips({ today }: LedgerInput, shifts: ShiftTable, machine: MachineForLedger, evidence: RawEvidence, take: Take): null {
  const share = TAP_SHARE[evidence.detail.runs ?? '']
  if (share === undefined) return null
  const to = Math.min(evidence.to, today)
  const longest = Math.max(1, ...shifts.calendar.shiftMinutes)
  let days = 0
  for (let day = evidence.from; day <= to; day++) days += (weightOfDay(shifts, day) / longest) * inServiceShare(shifts, machine, day)
  take({ machineId: machine.machineId, from: evidence.from, to, strips: share * machine.usualStripsPerDay * days, kind: 'tap' })
  return null
}

/** Cartons or rolls of a station, split over the machines that worked there, day by day. */
function ofStation(
  input: LedgerInput,
  shifts: ShiftTable,
  stationId: string,
  evidence: RawEvidence,
  byId: ReadonlyMap<string, MachineForLedger>,
  places: Places,
  take: Take,
): SetAside | null {
  const perCarton = input.stripsPerCarton[stationId] ?? null
  if (evidence.kind === 'cartons_day' && perCarton === null)
    return aside(evidence, 'NO_STRIPS_PER_CARTON', 'The station does not say how many strips a carton takes. Enter that, and it counts.')
  const everyone = places.get(stationId) ?? []
  const days = Array.from({ length: evidence.to - evidence.from + 1 }, (_, index) => evidence.from + index)
  const weights = days.map((day) => weightOfDay(shifts, day))
  const total = weights.reduce((a, b) => a + b, 0)
  const out: StripsOver[] = []
  let someone = false
  for (const [index, day] of days.entries()) {
    const share = days.length === 1 ? 1 : total === 0 ? 0 : (weights[index] as number) / total
    if (share === 0) continue
    for (const [machineId, part] of sharesOfStation(shifts, everyone, stationId, day)) {
      someone = true
      const machine = byId.get(machineId)
      if (!machine) continue
      const whole =
        evidence.kind === 'rolls'
          ? ((evidence.amount ?? 0) * (evidence.detail.rollMetres ?? 0) * 1000) / machine.meanStripMm
          : (evidence.amount ?? 0) * (perCarton ?? 0)
      const strips = whole * share * part
      if (strips > mostOnDays(shifts, machine, day, day))
        return aside(
          evidence,
          'MORE_THAN_IT_CAN_CUT',
          `It means ${Math.round(strips)} strips on one day, more than a machine of the station can cut. Correct the amount, or dismiss it.`,
        )
      out.push({ machineId, from: day, to: day, strips, kind: evidence.kind === 'rolls' ? 'rolls' : 'cartons' })
    }
  }
  if (!someone)
    return aside(
      evidence,
      'NOT_PLACED_THEN',
      'No machine stood at that station in service on those days. Correct the station or the day, or dismiss it.',
    )
  for (const piece of evidence.kind === 'rolls' ? mergeByMachine(out, evidence) : out) take(piece)
  return null
}

/** Rolls are one observation over their interval, however they were split by days. */
function mergeByMachine(parts: readonly StripsOver[], { from, to }: RawEvidence): StripsOver[] {
  const sums = new Map<string, number>()
  for (const { machineId, strips } of parts) sums.set(machineId, (sums.get(machineId) ?? 0) + strips)
  return [...sums].map(([machineId, strips]) => ({ machineId, from, to, strips, kind: 'rolls' }))
}

type Placed = LedgerInput['neighbours'][number]
/** Machines that ever stood at a station, by station. */
export type Places = ReadonlyMap<string, readonly Placed[]>

export function placesOf(input: LedgerInput): Places {
  const places = new Map<string, Placed[]>()
  for (const machine of [...input.machines, ...input.neighbours])
    for (const stationId of new Set(machine.placements.map((placement) => placement.stationId)))
      if (stationId !== null) places.set(stationId, [...(places.get(stationId) ?? []), machine])
  return places
}

/** Hands on what the evidence says of each machine's days. @returns why it is set aside; null where it counts */
export function dailyStrips(
  input: LedgerInput,
  shifts: ShiftTable,
  evidence: RawEvidence,
  byId: ReadonlyMap<string, MachineForLedger>,
  places: Places,
  take: Take,
): SetAside | null {
  if (evidence.stationId !== null) return ofStation(input, shifts, evidence.stationId, evidence, byId, places, take)
  const machine = evidence.machineId === null ? undefined : byId.get(evidence.machineId)
  if (!machine) return aside(evidence, 'UNKNOWN_MACHINE', 'No machine of this warehouse is meant. Name the machine, or dismiss it.')
  return ofMachine(input, shifts, machine, evidence, take)
}
