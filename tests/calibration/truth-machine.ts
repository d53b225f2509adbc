/** One simulated machine: its true strips a day, brush sets that wear, blades that fail. */
import type { Dice } from './random.js'
import { type SimulatedWarehouse, trueFactor } from './truth-calendar.js'

export type EvidenceHabit = 'counter_weekly' | 'counter_monthly' | 'strips_daily' | 'cartons' | 'rolls' | 'tap' | 'nothing'

export interface SimulatedMachine {
  warehouse: SimulatedWarehouse
  typeIndex: number
  habit: EvidenceHabit
  firstDay: number
  /** True strips by day, index 0 = firstDay. */
  strips: Float64Array
  /** Running sum: total[i] = strips of days before firstDay + i; one longer than strips. */
  total: Float64Array
}

export const TYPE_LEVELS = [800, 450, 1200]

/** A level that drifts and jumps, days that scatter, days on which nothing happens though the hall works. */
export function makeMachine(
  dice: Dice,
  warehouse: SimulatedWarehouse,
  typeIndex: number,
  habit: EvidenceHabit,
  firstDay: number,
  days: number,
): SimulatedMachine {
  const strips = new Float64Array(days)
  const total = new Float64Array(days + 1)
  let logLevel = Math.log(TYPE_LEVELS[typeIndex] ?? 800) + dice.normal(0, 0.4)
  const scatter = dice.between(0.12, 0.3)
  const own = Array.from({ length: 8 }, () => Math.exp(dice.normal(0, 0.1)))
  for (let index = 0; index < days; index++) {
    const day = firstDay + index
    logLevel += dice.normal(0, 0.006)
    if (dice.chance(1 / 730)) logLevel += dice.chance(0.5) ? Math.log(4 / 3) : Math.log(3 / 4)
    const factor = trueFactor(warehouse, day) * (own[(((day + 3) % 7) + 7) % 7] ?? 1)
    const idle = dice.chance(1 / 50)
    strips[index] = factor === 0 || idle ? 0 : Math.round(Math.exp(logLevel + dice.normal(-0.5 * scatter * scatter, scatter)) * factor)
    total[index + 1] = (total[index] as number) + (strips[index] as number)
  }
  return { warehouse, typeIndex, habit, firstDay, strips, total }
}

export const stripsBefore = (machine: SimulatedMachine, day: number): number =>
  machine.total[Math.max(0, Math.min(machine.strips.length, day - machine.firstDay))] as number

/** First day on which the running sum since the end of `sinceDay` reaches `amount`; null where the simulated time ends before. */
export function trueDay(machine: SimulatedMachine, sinceDay: number, amount: number): number | null {
  const wanted = stripsBefore(machine, sinceDay + 1) + amount
  let low = sinceDay + 1 - machine.firstDay
  let high = machine.strips.length
  if ((machine.total[high] as number) < wanted) return null
  while (low < high) {
    const middle = (low + high) >> 1
    if ((machine.total[middle] as number) >= wanted) high = middle
    else low = middle + 1
  }
  return machine.firstDay + low - 1
}

export const BRUSH_NEW_MM = 12.7
export const BRUSH_PLAN_LIMIT_MM = 9.5
export const BRUSH_NEVER_BELOW_MM = 6.4

export interface BrushSet {
  newLengthMm: number
  /** Strips since new at which the true length first lies below the limit. */
  strippedAt(limitMm: number): number
  lengthAt(strips: number): number
}

/** A gamma process over use: each step of 500 strips takes a gamma-distributed length; the first tenth of its life 1.6 times as much. */
export function makeBrushSet(dice: Dice, machineFactor: number): BrushSet {
  const stepStrips = 500
  const life = 400_000
  const newLengthMm = BRUSH_NEW_MM + dice.normal(0, 0.1)
  const perStep = (((BRUSH_NEW_MM - BRUSH_PLAN_LIMIT_MM) / life) * stepStrips * machineFactor * Math.exp(dice.normal(0, 0.12))) / 1.06
  const lengths: number[] = [newLengthMm]
  const shape = 0.8
  while ((lengths.at(-1) as number) > 5) {
    const used = lengths.length * stepStrips
    lengths.push((lengths.at(-1) as number) - ((dice.gamma(shape) * perStep) / shape) * (used < 0.1 * life ? 1.6 : 1))
  }
  const lengthAt = (strips: number): number => lengths[Math.min(lengths.length - 1, Math.floor(strips / stepStrips))] as number
  const strippedAt = (limitMm: number): number => lengths.findIndex((length) => length < limitMm) * stepStrips
  return { newLengthMm, strippedAt, lengthAt }
}

/** What a person reads: normal error, rounded to a tenth, now and then a millimetre off. */
export function readLength(dice: Dice, trueMm: number): number {
  const misread = dice.chance(1 / 50) ? (dice.chance(0.5) ? 1 : -1) : 0
  return Math.round((trueMm + dice.normal(0, 0.08) + misread) * 10) / 10
}

/** Years to the failure of a new blade: mostly wear-out, some early. */
export function bladeLifeYears(dice: Dice): number {
  return dice.chance(0.15) ? dice.weibull(1.1, 5) : dice.weibull(3.2, 14.5)
}

/** Days by which a person is late (negative: early) with care that has fallen due. */
export function lateness(dice: Dice): number {
  const luck = dice.uniform()
  if (luck < 0.25) return -dice.whole(1, 10)
  if (luck < 0.8) return dice.whole(0, 7)
  return dice.whole(8, 35)
}
