/**
 * What the fleet as a whole says about use: level of each machine, pooled by type, scatter of intervals, weekday shape.
 * The fit is on evidence intervals, not on spread days: a monthly reading is one observation.
 */
import { type DayTable, makeDayTable } from '../calendar/day-table.js'
import type { Day, MachineToPlan, MachineTypeFacts, UsageInterval, WarehouseCalendar } from '../model.js'
import { isoWeekday } from '../time/day.js'

/** Evidence loses half its weight in so many days (28 working days of a five-day week). */
export const HALF_LIFE_DAYS = 39
/** Drift of a level: variance of its logarithm per working day ahead (assumption, until the fleet says otherwise). */
export const DRIFT_PER_DAY = 0.0004
/** Relative error of a peak's stated multiplier (assumption). */
export const PEAK_CV = 0.25
const WEEKDAY_PRIOR_DAYS = 10
const DEFAULT_LOG_SD = 0.7
const HORIZON_DAYS = 5 * 366
const HISTORY_DAYS = 3 * 366

export interface UsagePool {
  /** Mean and spread between machines of the logarithm of strips on an ordinary working day. */
  logMean: number
  logSd: number
  /** Standard error of logMean. */
  logMeanSe: number
  machines: number
}

export interface FleetContext {
  today: Day
  table: DayTable
  /** expected[i]: ordinary working days' worth of use on days table.from .. table.from + i − 1. */
  expected: Float64Array
  /** Working days likewise. */
  working: Float64Array
  /** Share of peak days' use likewise. */
  inPeak: Float64Array
  pools: Readonly<Record<string, UsagePool>>
  /** Variance over mean of an interval's strips. */
  overdispersion: number
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

function prefixSums(table: DayTable, shape: Float64Array): Pick<FleetContext, 'expected' | 'working' | 'inPeak'> {
  const length = table.flags.length
  const expected = new Float64Array(length + 1)
  const working = new Float64Array(length + 1)
  const inPeak = new Float64Array(length + 1)
  let weekday = isoWeekday(table.from)
  for (let index = 0; index < length; index++) {
    const worked = ((table.flags[index] as number) & 1) === 1
    const multiplier = table.multiplier[index] as number
    const use = worked ? (shape[weekday] as number) * multiplier : 0
    expected[index + 1] = (expected[index] as number) + use
    working[index + 1] = (working[index] as number) + (worked ? 1 : 0)
    inPeak[index + 1] = (inPeak[index] as number) + (multiplier === 1 ? 0 : use)
    weekday = weekday === 7 ? 1 : weekday + 1
  }
  return { expected, working, inPeak }
}

/** Sum over days from..to, both included, of one of the context's prefix sums. */
export function sumOver(context: Pick<FleetContext, 'table'>, prefix: Float64Array, from: Day, to: Day): number {
  const low = Math.max(0, Math.min(prefix.length - 1, from - context.table.from))
  const high = Math.max(0, Math.min(prefix.length - 1, to + 1 - context.table.from))
  return high <= low ? 0 : (prefix[high] as number) - (prefix[low] as number)
}

export interface OwnLevel {
  /** Strips on an ordinary working day; null without evidence. */
  mean: number | null
  /** Squared standard error of ln(mean), from scatter alone. */
  scatterVariance: number
  /** Relative error of the evidence's own kind, common to past and future. */
  kindError: number
}

/** Weighted level of one machine: Σ λy / Σ λE, weights by age. */
export function ownLevel(
  context: Pick<FleetContext, 'table' | 'expected'>,
  usage: readonly UsageInterval[],
  today: Day,
  overdispersion: number,
): OwnLevel {
  let weighted = 0
  let exposure = 0
  let squared = 0
  let kindError = 0
  for (const { from, to, strips, relativeError } of usage) {
    const expected = sumOver(context, context.expected, from, to)
    if (expected <= 0) continue
    const weight = 2 ** (-Math.max(0, today - to) / HALF_LIFE_DAYS)
    weighted += weight * strips
    exposure += weight * expected
    squared += weight * weight * expected
    kindError += weight * expected * relativeError
  }
  if (exposure <= 0 || weighted <= 0) return { mean: null, scatterVariance: Number.POSITIVE_INFINITY, kindError: 0 }
  const mean = weighted / exposure
  return { mean, scatterVariance: (overdispersion * squared) / (mean * exposure * exposure), kindError: kindError / exposure }
}

/** Mean of (y − mE)² / (mE) over intervals of all machines; between 1 and a thousand, 30 where there is too little. */
function pooledOverdispersion(context: Pick<FleetContext, 'table' | 'expected'>, machines: readonly MachineToPlan[], today: Day): number {
  let sum = 0
  let count = 0
  for (const { usage } of machines) {
    const { mean } = ownLevel(context, usage, today, 1)
    if (mean === null || usage.length < 4) continue
    for (const { from, to, strips, kind } of usage) {
      if (kind === 'tap' || today - to > 200) continue
      const wanted = mean * sumOver(context, context.expected, from, to)
      if (wanted <= 0) continue
      sum += (strips - wanted) ** 2 / wanted
      count += 1
    }
  }
  return count < 20 ? 30 : Math.min(1000, Math.max(1, sum / count))
}

function poolOf(levels: readonly OwnLevel[], facts: MachineTypeFacts): UsagePool {
  const stated = Math.log(Math.max(1, facts.usualStripsPerDay))
  const logs = levels.flatMap(({ mean }) => (mean === null ? [] : [Math.log(mean)]))
  if (logs.length === 0) return { logMean: stated, logSd: DEFAULT_LOG_SD, logMeanSe: DEFAULT_LOG_SD / 2, machines: 0 }
  // The stated usual day counts as two machines; so does the default spread.
  const logMean = (logs.reduce((a, b) => a + b, 0) + 2 * stated) / (logs.length + 2)
  const variance = (logs.reduce((a, b) => a + (b - logMean) ** 2, 0) + 2 * DEFAULT_LOG_SD ** 2) / (logs.length + 2)
  return { logMean, logSd: Math.sqrt(variance), logMeanSe: Math.sqrt(variance / (logs.length + 2)), machines: logs.length }
}

export interface FleetInput {
  today: Day
  calendar: WarehouseCalendar
  types: Readonly<Record<string, MachineTypeFacts>>
  machines: readonly MachineToPlan[]
}

/** Everything that machines share, worked out once for a warehouse. */
export function prepareFleet({ today, calendar, types, machines }: FleetInput): FleetContext {
  const table = makeDayTable(calendar, today - HISTORY_DAYS, today + HORIZON_DAYS)
  const sums = { table, ...prefixSums(table, weekdayShape(calendar, machines)) }
  const overdispersion = pooledOverdispersion(sums, machines, today)
  const byType = new Map<string, OwnLevel[]>()
  for (const machine of machines) {
    const levels = byType.get(machine.machineTypeId) ?? []
    levels.push(ownLevel(sums, machine.usage, today, overdispersion))
    byType.set(machine.machineTypeId, levels)
  }
  const pools: Record<string, UsagePool> = {}
  for (const [typeId, facts] of Object.entries(types)) pools[typeId] = poolOf(byType.get(typeId) ?? [], facts)
  return { today, ...sums, pools, overdispersion }
}
