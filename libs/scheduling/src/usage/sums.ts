/** Running sums over a warehouse's days: use to expect, working days, use in peaks. */
import type { DayTable } from '../calendar/day-table.js'
import type { Day } from '../model.js'
import { isoWeekday } from '../time/day.js'

export interface Sums {
  table: DayTable
  /** expected[i]: ordinary working days' worth of use on days table.from .. table.from + i − 1. */
  expected: Float64Array
  /** Working days likewise. */
  working: Float64Array
  /** Use of peak days likewise. */
  inPeak: Float64Array
}

/** @param shape weekday shape, index 1..7, mean 1 over working days   @param multiplier of each day of the table */
export function sumsOf(table: DayTable, shape: Float64Array, multiplier: Float64Array): Sums {
  const length = table.flags.length
  const expected = new Float64Array(length + 1)
  const working = new Float64Array(length + 1)
  const inPeak = new Float64Array(length + 1)
  let weekday = isoWeekday(table.from)
  for (let index = 0; index < length; index++) {
    const worked = ((table.flags[index] as number) & 1) === 1
    const use = worked ? (shape[weekday] as number) * (multiplier[index] as number) : 0
    expected[index + 1] = (expected[index] as number) + use
    working[index + 1] = (working[index] as number) + (worked ? 1 : 0)
    inPeak[index + 1] = (inPeak[index] as number) + (table.multiplier[index] === 1 ? 0 : use)
    weekday = weekday === 7 ? 1 : weekday + 1
  }
  return { table, expected, working, inPeak }
}

/** Sum over days from..to, both included, of one of the running sums. */
export function sumOver({ table }: Pick<Sums, 'table'>, prefix: Float64Array, from: Day, to: Day): number {
  const low = Math.max(0, Math.min(prefix.length - 1, from - table.from))
  const high = Math.max(0, Math.min(prefix.length - 1, to + 1 - table.from))
  return high <= low ? 0 : (prefix[high] as number) - (prefix[low] as number)
}
