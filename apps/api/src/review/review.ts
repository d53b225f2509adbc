import { localToInstant } from '@tapewarden/scheduling'
import type { Review, ReviewMachine, RouteQuery, Routes } from '@tapewarden/shared'
import { durationsOf, hoursWithinShifts, type Durations } from '../stoppages/durations.js'
import { type KnownCalendar, readCalendars } from '../use/calendar.js'
import { addDays } from '../use/local-day.js'
import { requireWarehouse } from '../use/reach.js'
import type { Reading } from '../use/work.js'
import { FEWEST, meanBetween, meanDuration, shareOf } from './estimates.js'
import { adviseFirst } from './advice.js'
import { cut, hoursOf, type Interval, union, without } from './intervals.js'
import { measuresOf } from './measures.js'
import {
  type EndedCare,
  endedCare,
  type ReviewedMachine,
  reviewedMachines,
  type ReviewedStoppage,
  reviewedStoppages,
} from './review-rows.js'
import { saysWhoStandsOut, standOut } from './stands-out.js'

export interface MachineReview {
  machine: ReviewMachine
  /** Begun in the period. */
  begun: ReviewedStoppage[]
  /** Of them, those that nobody planned, and after how many hours in service they came. */
  unplanned: ReviewedStoppage[]
  unplannedAtHours: number[]
  /** Of the period, up to now. */
  periodHours: number
  split: Durations[]
  care: EndedCare | undefined
  currency: string
}

interface Period {
  /** The local days asked for, as instants of the zone where the machine stood last, up to now. */
  within: Interval
  nowMs: number
  /** Whether one began in the period, by the local days of the warehouse where it stood still. */
  beganIn(stoppage: ReviewedStoppage): boolean
}

function daysIn(zone: string, query: { from: string; to: string }): Interval {
  return { from: localToInstant(zone, `${query.from}T00:00`), to: localToInstant(zone, `${addDays(query.to, 1)}T00:00`) }
}

function periodsBy(query: { from: string; to: string }, nowMs: number, zoneOf: (warehouseId: string) => string): (zone: string) => Period {
  const days = new Map<string, Interval>()
  const inZone = (zone: string): Interval => {
    const known = days.get(zone) ?? daysIn(zone, query)
    days.set(zone, known)
    return known
  }
  const beganIn = (stoppage: ReviewedStoppage): boolean => {
    const { from, to } = inZone(zoneOf(stoppage.warehouseId))
    const at = Date.parse(stoppage.failedAt)
    return at >= from && at < to
  }
  return (zone) => {
    const { from, to } = inZone(zone)
    return { within: { from, to: Math.min(to, Math.max(nowMs, from)) }, nowMs, beganIn }
  }
}

function spanOf(stoppage: ReviewedStoppage, nowMs: number): Interval {
  const from = Date.parse(stoppage.failedAt)
  return { from, to: Math.max(from, stoppage.backInUseAt === null ? nowMs : Date.parse(stoppage.backInUseAt)) }
}

function shiftHours(known: KnownCalendar | undefined, intervals: readonly Interval[]): number | null {
  if (!known) return null
  let sum = 0
  for (const { from, to } of intervals) {
    const hours = hoursWithinShifts(known.calendar, from, to)
    if (hours === null) return null
    sum += hours
  }
  return sum
}

function hours(value: number): string {
  return `${value.toFixed(1)} hours`
}

function sentenceOf(review: Omit<ReviewMachine, 'sentence' | 'standsOut' | 'advice'>): string {
  if (review.stoppages === 0) return `${review.labelCode} was not stopped in this period.`
  const { value, low, high, n } = review.meanHoursBetweenStoppages
  // From one or two the limits lie so far apart that they say nothing.
  const between =
    value === null || n < FEWEST
      ? ''
      : ` An unplanned stoppage about every ${Math.round(value)} hours in service (between ${Math.round(low ?? 0)} and ${Math.round(high ?? 0)}).`
  return `${review.labelCode} stood still ${timesOf(review)}, for ${hours(review.hoursStopped)}.${between}`
}

/** 'once, unplanned'; '4 times, 3 of them unplanned'. */
function timesOf({ stoppages, unplanned }: Pick<ReviewMachine, 'stoppages' | 'unplanned'>): string {
  const plain = unplanned === 0 ? 'planned' : 'unplanned'
  if (stoppages === 1) return `once, ${plain}`
  if (unplanned === 0 || unplanned === stoppages) return `${stoppages} times, ${stoppages === 2 ? 'both' : 'all'} ${plain}`
  return `${stoppages} times, ${unplanned} of them unplanned`
}

function reviewOne(
  machine: ReviewedMachine,
  all: readonly ReviewedStoppage[],
  known: KnownCalendar | undefined,
  care: EndedCare | undefined,
  period: Period,
): MachineReview {
  const { within } = period
  const spans = (stoppages: readonly ReviewedStoppage[]) =>
    union(
      cut(
        stoppages.map((stoppage) => spanOf(stoppage, period.nowMs)),
        within,
      ),
    )
  const begun = all.filter(period.beganIn)
  const unplanned = begun.filter((stoppage) => !stoppage.planned)
  const stopped = spans(all)
  const stoppedUnplanned = spans(all.filter((stoppage) => !stoppage.planned))
  const upToNow = (spells: ReviewedMachine['inService']) => spells.map(({ from, to }) => ({ from, to: to ?? period.nowMs }))
  const service = without(union(cut(upToNow(machine.inService), within)), upToNow(machine.elsewhere))
  const hoursObserved = hoursOf(service)
  const hoursStopped = hoursOf(stopped)
  const unplannedInShifts = shiftHours(known, stoppedUnplanned)
  const ended = unplanned.filter((stoppage) => stoppage.backInUseAt !== null)
  const facts = {
    machineId: machine.id,
    labelCode: machine.labelCode,
    typeName: machine.typeName,
    warehouseId: machine.warehouseId,
    warehouseName: machine.warehouseName,
    stationName: machine.stationName,
    stoppages: begun.length,
    planned: begun.length - unplanned.length,
    unplanned: unplanned.length,
    hoursStopped,
    hoursStoppedUnplanned: hoursOf(stoppedUnplanned),
    hoursStoppedWithinShifts: shiftHours(known, stopped),
    hoursObserved,
    meanHoursBetweenStoppages: meanBetween(hoursObserved, unplanned.length, 1),
    meanHoursToBackInUse: meanDuration(
      ended.map((stoppage) => hoursOf([spanOf(stoppage, period.nowMs)])),
      1,
    ),
    availability: hoursObserved > 0 ? Math.max(0, 1 - hoursStopped / hoursObserved) : null,
    careInTime: shareOf(care?.inTime ?? 0, care?.ended ?? 0, 1),
    cost: machine.stoppageCostPerHour === null ? null : (unplannedInShifts ?? hoursOf(stoppedUnplanned)) * machine.stoppageCostPerHour,
  }
  return {
    machine: { ...facts, standsOut: false, advice: { advice: 'keep', sentence: '' }, sentence: sentenceOf(facts) },
    begun,
    unplanned,
    unplannedAtHours: unplanned.map((stoppage) => {
      const hours = hoursOf(cut(service, { from: within.from, to: Date.parse(stoppage.failedAt) }))
      // One at the very first moment is set a second later, where a logarithm can stand it.
      return Math.min(hoursObserved, Math.max(1 / 3600, hours))
    }),
    periodHours: (within.to - within.from) / 3_600_000,
    split: begun.map((stoppage) => durationsOf(stoppage, period.nowMs, known?.calendar ?? null)),
    care,
    currency: machine.currency,
  }
}

export async function review(reading: Reading, query: RouteQuery<Routes['review']>): Promise<Review> {
  if (query.warehouseId !== undefined) requireWarehouse(reading.who, query.warehouseId)
  const machines = await reviewedMachines(reading, query)
  const ids = machines.map((machine) => machine.id)
  const stoppages = await reviewedStoppages(reading, ids, query)
  const known = await readCalendars(reading, [...new Set([...machines, ...stoppages].map(({ warehouseId }) => warehouseId))])
  const calendars = new Map(known.map((one) => [one.id, one]))
  const care = new Map((await endedCare(reading, ids, query)).map((row) => [row.machineId, row]))
  const byMachine = new Map<string, ReviewedStoppage[]>()
  for (const stoppage of stoppages) {
    const own = byMachine.get(stoppage.machineId)
    if (own) own.push(stoppage)
    else byMachine.set(stoppage.machineId, [stoppage])
  }
  const periodOf = periodsBy(query, reading.now.getTime(), (id) => calendars.get(id)?.zone ?? 'UTC')
  const reviews = machines
    .map((machine) =>
      reviewOne(machine, byMachine.get(machine.id) ?? [], calendars.get(machine.warehouseId), care.get(machine.id), periodOf(machine.zone)),
    )
    .sort((a, b) => worse(a.machine, b.machine))
  standOut(reviews.map(({ machine }) => machine)).forEach((named, index) => {
    const reviewed = reviews[index]
    if (reviewed) reviewed.machine.standsOut = named
  })
  await adviseFirst(reading, reviews, query, query.limit)
  const totals = totalsOf(reviews)
  return {
    from: query.from,
    to: query.to,
    sentences: summarySentences(reviews, totals),
    totals,
    split: sumOf(reviews.flatMap((one) => one.split)),
    measures: measuresOf(reviews),
    machines: reviews.slice(0, query.limit).map((one) => one.machine),
  }
}

function worse(a: ReviewMachine, b: ReviewMachine): number {
  return b.hoursStoppedUnplanned - a.hoursStoppedUnplanned || b.hoursStopped - a.hoursStopped || a.labelCode.localeCompare(b.labelCode)
}

function totalsOf(reviews: readonly MachineReview[]): Review['totals'] {
  const sum = (key: 'stoppages' | 'planned' | 'unplanned' | 'hoursStopped' | 'hoursStoppedUnplanned') =>
    reviews.reduce((total, { machine }) => total + machine[key], 0)
  const costed = reviews.filter(({ machine }) => machine.cost !== null)
  const currencies = new Set(costed.map(({ currency }) => currency))
  const oneCurrency = currencies.size === 1
  return {
    machines: reviews.length,
    stoppages: sum('stoppages'),
    planned: sum('planned'),
    unplanned: sum('unplanned'),
    hoursStopped: sum('hoursStopped'),
    hoursStoppedUnplanned: sum('hoursStoppedUnplanned'),
    cost: oneCurrency ? costed.reduce((total, { machine }) => total + (machine.cost ?? 0), 0) : null,
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

function summarySentences(reviews: readonly MachineReview[], totals: Review['totals']): string[] {
  if (totals.stoppages === 0) return [`None of ${totals.machines} machines was stopped in this period, as far as was reported.`]
  const worst = reviews[0]?.machine
  const share = totals.hoursStopped > 0 ? Math.round((100 * totals.hoursStoppedUnplanned) / totals.hoursStopped) : 0
  return [
    `${totals.stoppages} stoppages of ${totals.machines} machines: ${hours(totals.hoursStopped)}, ${share} % of them unplanned.`,
    ...(worst && worst.hoursStopped > 0 ? [`Most of it: ${worst.sentence}`] : []),
    saysWhoStandsOut(
      reviews.flatMap(({ machine }) => (machine.standsOut ? [machine.labelCode] : [])),
      totals.unplanned,
    ),
  ].filter((sentence) => sentence !== '')
}
