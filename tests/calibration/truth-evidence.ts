/** What people and systems write down of a simulated machine's use: late, coarse, forgotten or drifting, as the README says. */
import type { RawEvidence } from '@tapewarden/scheduling'
import type { Dice } from './random.js'
import { isWorked } from './truth-calendar.js'
import { type SimulatedMachine, stripsBefore, TYPE_LEVELS } from './truth-machine.js'

export const MEAN_STRIP_MM = 500
export const STATED_STRIPS_PER_CARTON = 2
const ROLL_METRES = 250
const SHIFT_BEGINS = 360

export interface EvidenceState {
  /** ln of true strips per carton over the stated ones; a random walk with a yearly spread of a tenth. */
  logRatio: number
  /** Metres taken from the roll in the machine. */
  openRollMetres: number
  weekday: number
}

export const freshState = (dice: Dice): EvidenceState => ({
  logRatio: 0,
  openRollMetres: dice.between(0, ROLL_METRES),
  weekday: dice.whole(1, 5),
})

let order = 0
const piece = (machineId: string, kind: RawEvidence['kind'], more: Partial<RawEvidence>): RawEvidence => ({
  id: `evidence ${++order}`,
  kind,
  machineId,
  stationId: null,
  at: null,
  from: 0,
  to: 0,
  amount: null,
  detail: {},
  order,
  ...more,
})

const stripsOn = (machine: SimulatedMachine, day: number): number => machine.strips[day - machine.firstDay] ?? 0
const monthOf = (day: number): string => new Date(day * 86_400_000).toISOString().slice(0, 7)
const weekdayOf = (day: number): number => ((((day + 3) % 7) + 7) % 7) + 1

function reading(dice: Dice, machine: SimulatedMachine, machineId: string, day: number): RawEvidence[] {
  if (dice.chance(1 / 6)) return []
  const minute = dice.whole(0, 1439)
  const minutes = machine.warehouse.shiftMinutes[weekdayOf(day)] ?? 0
  const done = minutes === 0 ? 0 : Math.min(1, Math.max(0, (minute - SHIFT_BEGINS) / minutes))
  const amount = Math.floor(stripsBefore(machine, day) + done * stripsOn(machine, day))
  return [piece(machineId, 'counter_reading', { at: { day, minute }, from: day, to: day, amount })]
}

function rolls(dice: Dice, machine: SimulatedMachine, machineId: string, state: EvidenceState, day: number): RawEvidence[] {
  let strips = 0
  for (let back = 0; back < 7; back++) strips += stripsOn(machine, day - back)
  state.openRollMetres += (strips * MEAN_STRIP_MM) / 1000
  let amount = 0
  while (state.openRollMetres >= ROLL_METRES) {
    state.openRollMetres -= ROLL_METRES
    amount += dice.chance(1 / 40) ? 2 : 1
  }
  return [piece(machineId, 'rolls', { from: day - 6, to: day, amount, detail: { rollMetres: ROLL_METRES } })]
}

const WORDS = ['seldom', 'some_hours', 'all_day'] as const

function tap(dice: Dice, machine: SimulatedMachine, machineId: string, day: number): RawEvidence[] {
  const month = monthOf(day)
  let first = day
  while (monthOf(first - 1) === month) first--
  let [strips, days] = [0, 0]
  for (let at = first; at <= day; at++) if (isWorked(machine.warehouse, at)) [strips, days] = [strips + stripsOn(machine, at), days + 1]
  const share = days === 0 ? 0 : strips / days / (TYPE_LEVELS[machine.typeIndex] ?? 800)
  const right = share > 0.7 ? 2 : share > 0.2 ? 1 : 0
  const said = dice.chance(0.8) ? right : right === 1 ? (dice.chance(0.5) ? 0 : 2) : 1
  return [piece(machineId, 'monthly_tap', { from: first, to: day, detail: { runs: WORDS[said] } })]
}

/** What is entered in the evening of a day. */
export function writtenDown(
  dice: Dice,
  machine: SimulatedMachine,
  { machineId, stationId }: { machineId: string; stationId: string },
  state: EvidenceState,
  day: number,
): RawEvidence[] {
  const worked = isWorked(machine.warehouse, day)
  const lastOfMonth = monthOf(day + 1) !== monthOf(day)
  state.logRatio += dice.normal(0, 0.1 / Math.sqrt(365))
  switch (machine.habit) {
    case 'counter_weekly':
      return weekdayOf(day) === state.weekday ? reading(dice, machine, machineId, day) : []
    case 'counter_monthly':
      return lastOfMonth ? reading(dice, machine, machineId, day) : []
    case 'strips_daily':
      return worked ? [piece(machineId, 'strips_day', { from: day, to: day, amount: stripsOn(machine, day) })] : []
    case 'cartons': {
      const amount = Math.round(stripsOn(machine, day) / (STATED_STRIPS_PER_CARTON * Math.exp(state.logRatio)))
      return worked ? [piece('', 'cartons_day', { machineId: null, stationId, from: day, to: day, amount })] : []
    }
    case 'rolls':
      return weekdayOf(day) === 7 ? rolls(dice, machine, machineId, state, day) : []
    case 'tap':
      return lastOfMonth ? tap(dice, machine, machineId, day) : []
    case 'nothing':
      return []
  }
}
