/**
 * What the fleet as a whole says about use: level of each machine, pooled by type, scatter of intervals, drift, peaks,
 * season, weekday shape. The fit is on evidence intervals, not on spread days: a monthly reading is one observation.
 */
import { makeDayTable } from '../calendar/day-table.js'
import type { Day, MachineToPlan, MachineTypeFacts, WarehouseCalendar } from '../model.js'
import { isoWeekday } from '../time/day.js'
import { type OwnLevel, ownLevel } from './own-level.js'
import { believedPeaks } from './peaks.js'
import { poolTypes, type UsagePool, type UseElsewhere } from './pools.js'
import { pooledDrift, pooledOverdispersion } from './scatter.js'
import { seasonOf, withSeason } from './season.js'
import { type Sums, sumsOf } from './sums.js'

export { sumOver } from './sums.js'
export type { UsagePool, UseElsewhere } from './pools.js'

const WEEKDAY_PRIOR_DAYS = 10
const HORIZON_DAYS = 5 * 366
const HISTORY_DAYS = 3 * 366

export interface FleetContext extends Sums {
  today: Day
  pools: Readonly<Record<string, UsagePool>>
  /** Stated of each type, or the labelled default. */
  usualStripsPerDay: Readonly<Record<string, number>>
  /** Variance over mean of an interval's strips. */
  overdispersion: number
  /** Variance of the logarithm of a level a working day. */
  driftPerDay: number
  /** Relative error of the multiplier of a peak to come. */
  peakCv: number
}

/** Mean 1 over working days; from daily evidence, shrunken towards even days by a prior worth ten days. */
function weekdayShape(calendar: WarehouseCalendar, machines: readonly MachineToPlan[]): Float64Array {
  const sum = new Float64Array(8)
  const count = new Float64Array(8)
  for (const { usage } of machines)
    for (const { from, to, strips, kind } of usage)
      if (from === to && kind !== 'tap' && kind !== 'rolls' && strips > 0) {
        const weekday = isoWeekday(from)
        sum[weekday] = (sum[weekday] as number) + strips
        count[weekday] = (count[weekday] as number) + 1
      }
  const total = sum.reduce((a, b) => a + b, 0)
  const days = count.reduce((a, b) => a + b, 0)
  const shape = new Float64Array(8)
  const worked = [1, 2, 3, 4, 5, 6, 7].filter((weekday) => (calendar.shiftMinutes[weekday] ?? 0) > 0)
  const longest = Math.max(1, ...worked.map((weekday) => calendar.shiftMinutes[weekday] ?? 0))
  for (const weekday of worked) {
    const prior = (calendar.shiftMinutes[weekday] ?? 0) / longest
    const seen = count[weekday] as number
    const mean = days > 0 && seen > 0 ? (sum[weekday] as number) / seen / (total / days) : prior
    shape[weekday] = (mean * seen + prior * WEEKDAY_PRIOR_DAYS) / (seen + WEEKDAY_PRIOR_DAYS)
  }
  const average = worked.reduce((a, weekday) => a + (shape[weekday] as number), 0) / Math.max(1, worked.length)
  return shape.map((value) => value / (average || 1))
}

export interface FleetInput {
  today: Day
  calendar: WarehouseCalendar
  types: Readonly<Record<string, MachineTypeFacts>>
  machines: readonly MachineToPlan[]
  /** Of the organisation's other warehouses. */
  useElsewhere?: readonly UseElsewhere[]
}

/** Everything that machines share, worked out once for a warehouse. */
export function prepareFleet({ today, calendar, types, machines, useElsewhere }: FleetInput): FleetContext {
  const table = makeDayTable(calendar, today - HISTORY_DAYS, today + HORIZON_DAYS)
  const shape = weekdayShape(calendar, machines)
  const stated = sumsOf(table, shape, table.multiplier)
  const season = seasonOf(stated, machines)
  const seasonal = season ? sumsOf(table, shape, withSeason(table.multiplier, table.from, season)) : stated
  const peaks = believedPeaks(seasonal, calendar.peaks, machines, today)
  const sums = sumsOf(table, shape, withSeason(peaks.multiplier, table.from, season))
  const overdispersion = pooledOverdispersion(sums, machines, today)
  const driftPerDay = pooledDrift(sums, machines, today)
  const byType = new Map<string, OwnLevel[]>()
  for (const { machineTypeId, usage } of machines) {
    const level = ownLevel(sums, usage, today, overdispersion, driftPerDay)
    const levels = byType.get(machineTypeId)
    if (levels) levels.push(level)
    else byType.set(machineTypeId, [level])
  }
  const usualStripsPerDay = Object.fromEntries(Object.entries(types).map(([id, facts]) => [id, facts.usualStripsPerDay]))
  return { today, ...sums, pools: poolTypes(types, byType, useElsewhere), usualStripsPerDay, overdispersion, driftPerDay, peakCv: peaks.cv }
}
