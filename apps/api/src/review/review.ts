import type { Review, RouteQuery, Routes } from '@tapewarden/shared'
import type { Durations } from '../stoppages/durations.js'
import { type KnownCalendar, readCalendars } from '../use/calendar.js'
import { requireWarehouse } from '../use/reach.js'
import type { Reading } from '../use/work.js'
import { adviceFor } from './advice.js'
import type { Interval } from './intervals.js'
import { measuresOf } from './measures.js'
import { periodOf } from './period.js'
import {
  elsewhere,
  endedCare,
  endedCareOf,
  inService,
  namesOf,
  type ReviewedStoppage,
  type ReviewedWarehouse,
  reviewedMachines,
  reviewedStoppages,
  reviewedWarehouses,
} from './review-rows.js'
import { saysWhoStandsOut, standOut } from './stands-out.js'
import { hours, sentenceOf, told } from './told.js'
import { weigh, type Weighed, worse } from './weigh.js'

const NO_STOPPAGES: readonly ReviewedStoppage[] = []
const NEVER: readonly Interval[] = []

function grouped<Row>(rows: readonly Row[], by: (row: Row) => string): Map<string, Row[]> {
  const groups = new Map<string, Row[]>()
  for (const row of rows) {
    const own = groups.get(by(row))
    if (own) own.push(row)
    else groups.set(by(row), [row])
  }
  return groups
}

export async function review(reading: Reading, query: RouteQuery<Routes['review']>): Promise<Review> {
  if (query.warehouseId !== undefined) requireWarehouse(reading.who, query.warehouseId)
  const machines = await reviewedMachines(reading, query)
  const stoppages = grouped(await reviewedStoppages(reading, query), ({ machineId }) => machineId)
  const calendars = new Map((await readCalendars(reading, reading.who.warehouseIds)).map((one) => [one.id, one]))
  const warehouses = new Map((await reviewedWarehouses(reading)).map((one) => [one.id, one]))
  const service = await inService(reading, machines, query)
  const away = await elsewhere(reading, query)
  const period = periodOf(query, reading.now.getTime())
  const calendarOf = (id: string): KnownCalendar => calendars.get(id) as KnownCalendar
  const reviews = machines
    .map((machine) =>
      weigh(
        machine,
        {
          stoppages: stoppages.get(machine.id) ?? NO_STOPPAGES,
          inService: service.get(machine.id) ?? NEVER,
          elsewhere: away.get(machine.id) ?? NEVER,
          calendar: calendarOf(machine.warehouseId),
          warehouse: warehouses.get(machine.warehouseId) as ReviewedWarehouse,
          zoneOf: (id) => calendarOf(id).zone,
        },
        period,
      ),
    )
    .sort(worse)
  standOut(reviews.map(({ unplanned, hoursObserved }) => ({ unplanned: unplanned.length, hoursObserved }))).forEach((named, index) => {
    if (named) (reviews[index] as Weighed).standsOut = true
  })
  const shown = reviews.slice(0, query.limit)
  const shownMachines = shown.map(({ machine }) => machine)
  const names = await namesOf(reading, shownMachines)
  const ids = shownMachines.map(({ id }) => id)
  const care = await endedCareOf(reading, ids, query)
  const advice = await adviceFor(reading, reviews, query)
  const totals = totalsOf(reviews)
  return {
    from: query.from,
    to: query.to,
    sentences: summarySentences(reviews, totals),
    totals,
    split: sumOf(reviews.flatMap(({ split }) => split)),
    measures: measuresOf(reviews, await endedCare(reading, query)),
    machines: shown.map((one, index) =>
      told(one, {
        names,
        calendar: calendarOf(one.machine.warehouseId),
        care: care.get(one.machine.id),
        nowMs: period.nowMs,
        advice: advice(one, index),
      }),
    ),
  }
}

function totalsOf(reviews: readonly Weighed[]): Review['totals'] {
  const sum = (of: (one: Weighed) => number) => reviews.reduce((total, one) => total + of(one), 0)
  const costed = reviews.filter(({ cost }) => cost !== null)
  const currencies = new Set(costed.map(({ currency }) => currency))
  const oneCurrency = currencies.size === 1
  const [stoppages, unplanned] = [sum(({ begun }) => begun.length), sum((one) => one.unplanned.length)]
  return {
    machines: reviews.length,
    stoppages,
    planned: stoppages - unplanned,
    unplanned,
    hoursStopped: sum(({ hoursStopped }) => hoursStopped),
    hoursStoppedUnplanned: sum(({ hoursStoppedUnplanned }) => hoursStoppedUnplanned),
    cost: oneCurrency ? costed.reduce((total, { cost }) => total + (cost ?? 0), 0) : null,
    currency: oneCurrency ? ([...currencies][0] ?? null) : null,
  }
}

function sumOf(splits: readonly Durations[]): Durations {
  const sum = (key: keyof Durations) => splits.reduce((total, one) => total + (one[key] ?? 0), 0)
  return {
    totalHours: sum('totalHours'),
    withinShiftsHours: splits.every((one) => one.withinShiftsHours !== null) ? sum('withinShiftsHours') : null,
    detectionHours: sum('detectionHours'),
    administrativeHours: sum('administrativeHours'),
    logisticHours: sum('logisticHours'),
    technicalHours: sum('technicalHours'),
    activeHours: sum('activeHours'),
  }
}

function summarySentences(reviews: readonly Weighed[], totals: Review['totals']): string[] {
  if (totals.stoppages === 0) return [`None of ${totals.machines} machines was stopped in this period, as far as was reported.`]
  const worst = reviews[0]
  const share = totals.hoursStopped > 0 ? Math.round((100 * totals.hoursStoppedUnplanned) / totals.hoursStopped) : 0
  return [
    `${totals.stoppages} stoppages of ${totals.machines} machines: ${hours(totals.hoursStopped)}, ${share} % of them unplanned.`,
    ...(worst && worst.hoursStopped > 0 ? [`Most of it: ${sentenceOf(worst)}`] : []),
    saysWhoStandsOut(
      reviews.flatMap(({ machine, standsOut }) => (standsOut ? [machine.labelCode] : [])),
      totals.unplanned,
    ),
  ].filter((sentence) => sentence !== '')
}
