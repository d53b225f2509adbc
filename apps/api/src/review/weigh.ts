/** What a machine's stoppages come to in the period. Pure; most machines of a large fleet have none, and cost next to nothing. */
import { durationsOf, hoursWithinShifts, type Durations } from '../stoppages/durations.js'
import type { KnownCalendar } from '../use/calendar.js'
import { cut, hoursOf, type Interval, union, without } from './intervals.js'
import type { Period } from './period.js'
import type { ReviewedMachine, ReviewedStoppage, ReviewedWarehouse } from './review-rows.js'

export interface Weighed {
  machine: ReviewedMachine
  /** In service in the period and in the warehouses asked about, up to now. */
  service: readonly Interval[]
  hoursObserved: number
  /** Of the period, up to now. */
  periodHours: number
  /** Begun in the period. */
  begun: readonly ReviewedStoppage[]
  /** Of them, those that nobody planned. */
  unplanned: readonly ReviewedStoppage[]
  /** Of those begun. */
  split: readonly Durations[]
  /** Of all that reach into it, each moment once. */
  stopped: readonly Interval[]
  hoursStopped: number
  hoursStoppedUnplanned: number
  cost: number | null
  currency: string
  standsOut: boolean
}

/** What is known of a machine beside its row. */
export interface Facts {
  stoppages: readonly ReviewedStoppage[]
  inService: readonly Interval[]
  elsewhere: readonly Interval[]
  calendar: KnownCalendar
  warehouse: ReviewedWarehouse
  /** A stoppage counts for the days of the warehouse where the machine stood still. */
  zoneOf(warehouseId: string): string
}

export function spanOf({ failed, backInUse }: ReviewedStoppage, nowMs: number): Interval {
  return { from: failed, to: Math.max(failed, backInUse ?? nowMs) }
}

export function shiftHours({ calendar }: KnownCalendar, intervals: readonly Interval[]): number | null {
  let sum = 0
  for (const { from, to } of intervals) {
    const hours = hoursWithinShifts(calendar, from, to)
    if (hours === null) return null
    sum += hours
  }
  return sum
}

function stoppedOf(stoppages: readonly ReviewedStoppage[], within: Interval, nowMs: number): Interval[] {
  if (stoppages.length === 0) return []
  return union(
    cut(
      stoppages.map((stoppage) => spanOf(stoppage, nowMs)),
      within,
    ),
  )
}

function serviceOf({ throughout }: ReviewedMachine, { inService, elsewhere }: Facts, within: Interval): Interval[] {
  const served = throughout && within.to > within.from ? [within] : union(cut(inService, within))
  return elsewhere.length === 0 ? served : without(served, elsewhere)
}

export function weigh(machine: ReviewedMachine, facts: Facts, period: Period): Weighed {
  const { stoppages, calendar, warehouse, zoneOf } = facts
  const within = period.within(calendar.zone)
  const service = serviceOf(machine, facts, within)
  const begun = stoppages.filter(({ failed, warehouseId }) => {
    const { from, to } = period.daysIn(zoneOf(warehouseId))
    return failed >= from && failed < to
  })
  const stopped = stoppedOf(stoppages, within, period.nowMs)
  const stoppedUnplanned = stoppedOf(
    stoppages.filter(({ planned }) => !planned),
    within,
    period.nowMs,
  )
  const hoursStoppedUnplanned = hoursOf(stoppedUnplanned)
  const { currency, stoppageCostPerHour } = warehouse
  return {
    machine,
    service,
    hoursObserved: hoursOf(service),
    periodHours: hoursOf([within]),
    begun,
    unplanned: begun.filter(({ planned }) => !planned),
    split: begun.map((stoppage) => durationsOf(stoppage, period.nowMs, calendar.calendar)),
    stopped,
    hoursStopped: hoursOf(stopped),
    hoursStoppedUnplanned,
    cost: stoppageCostPerHour === null ? null : (shiftHours(calendar, stoppedUnplanned) ?? hoursStoppedUnplanned) * stoppageCostPerHour,
    currency,
    standsOut: false,
  }
}

/** Worst first: hours stopped without a plan, then hours stopped; what is left keeps its order. */
export function worse(a: Weighed, b: Weighed): number {
  return b.hoursStoppedUnplanned - a.hoursStoppedUnplanned || b.hoursStopped - a.hoursStopped
}
