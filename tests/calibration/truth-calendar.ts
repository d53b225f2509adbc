/** Warehouses of the simulated fleets: what is stated, and what is so. Days are whole numbers since 1970-01-01. */
import type { Dice } from './random.js'

export interface SimulatedWarehouse {
  zone: string
  /** Index 1..7; stated. */
  shiftMinutes: number[]
  closures: { from: number; to: number }[]
  peaks: { from: number; to: number; stated: number; trueMultiplier: number }[]
  /** True shape of the week, index 1..7, mean 1 over working days. */
  weekShape: number[]
  seasonPhase: number
}

export const isoWeekdayOf = (day: number): number => ((((day + 3) % 7) + 7) % 7) + 1
const yearDay = (year: number, month: number, date: number): number => Date.UTC(year, month - 1, date) / 86_400_000

export function makeWarehouse(dice: Dice, zone: string, fromYear: number, toYear: number): SimulatedWarehouse {
  const saturday = dice.chance(0.3)
  const shiftMinutes = [0, 960, 960, 960, 960, 960, saturday ? 300 : 0, 0]
  const raw = shiftMinutes.map((minutes, weekday) =>
    minutes === 0 ? 0 : Math.exp(dice.normal(weekday === 1 ? 0.15 : weekday === 6 ? -0.6 : 0, 0.12)),
  )
  const worked = raw.filter((value) => value > 0)
  const mean = worked.reduce((sum, value) => sum + value, 0) / worked.length
  const closures: SimulatedWarehouse['closures'] = []
  const peaks: SimulatedWarehouse['peaks'] = []
  for (let year = fromYear; year <= toYear; year++) {
    closures.push(
      { from: yearDay(year, 12, 24), to: yearDay(year, 12, 26) },
      { from: yearDay(year, 1, 1), to: yearDay(year, 1, 1) },
      { from: yearDay(year, 5, 1), to: yearDay(year, 5, 1) },
    )
    const stated = 1.6
    peaks.push({
      from: yearDay(year, 11, 15),
      to: yearDay(year, 12, 22),
      stated,
      trueMultiplier: stated * 1.25 * Math.exp(dice.normal(0, 0.1)),
    })
  }
  return { zone, shiftMinutes, closures, peaks, weekShape: raw.map((value) => value / mean), seasonPhase: dice.between(0, 2 * Math.PI) }
}

const within = (ranges: readonly { from: number; to: number }[], day: number): boolean =>
  ranges.some(({ from, to }) => from <= day && day <= to)

export function isWorked(warehouse: SimulatedWarehouse, day: number): boolean {
  return (warehouse.shiftMinutes[isoWeekdayOf(day)] ?? 0) > 0 && !within(warehouse.closures, day)
}

/** True factor on an ordinary day's strips: weekday, season, peak; 0 where nothing is worked. */
export function trueFactor(warehouse: SimulatedWarehouse, day: number): number {
  if (!isWorked(warehouse, day)) return 0
  const season = 1 + 0.15 * Math.sin((2 * Math.PI * day) / 365.25 + warehouse.seasonPhase)
  const peak = warehouse.peaks.find(({ from, to }) => from <= day && day <= to)
  return (warehouse.weekShape[isoWeekdayOf(day)] ?? 0) * season * (peak?.trueMultiplier ?? 1)
}
