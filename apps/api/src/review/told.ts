/** A machine of the review as it is shown, with its limits and its sentence. Pure. */
import type { ReviewMachine } from '@tapewarden/shared'
import type { KnownCalendar } from '../use/calendar.js'
import { FEWEST, meanBetween, meanDuration, shareOf } from './estimates.js'
import { hoursOf } from './intervals.js'
import type { EndedCare, Names } from './review-rows.js'
import { shiftHours, spanOf, type Weighed } from './weigh.js'

export function hours(value: number): string {
  return `${value.toFixed(1)} hours`
}

/** 'once, unplanned'; '4 times, 3 of them unplanned'. */
function timesOf({ stoppages, unplanned }: Pick<ReviewMachine, 'stoppages' | 'unplanned'>): string {
  const plain = unplanned === 0 ? 'planned' : 'unplanned'
  if (stoppages === 1) return `once, ${plain}`
  if (unplanned === 0 || unplanned === stoppages) return `${stoppages} times, ${stoppages === 2 ? 'both' : 'all'} ${plain}`
  return `${stoppages} times, ${unplanned} of them unplanned`
}

export function sentenceOf({ machine, begun, unplanned, hoursObserved, hoursStopped }: Weighed): string {
  if (begun.length === 0) return `${machine.labelCode} was not stopped in this period.`
  const { value, low, high, n } = meanBetween(hoursObserved, unplanned.length, 1)
  // From one or two the limits lie so far apart that they say nothing.
  const between =
    value === null || n < FEWEST
      ? ''
      : ` An unplanned stoppage about every ${Math.round(value)} hours in service (between ${Math.round(low ?? 0)} and ${Math.round(high ?? 0)}).`
  return `${machine.labelCode} stood still ${timesOf({ stoppages: begun.length, unplanned: unplanned.length })}, for ${hours(hoursStopped)}.${between}`
}

/** What is told beside a machine's own hours. */
export interface Beside {
  names: Names
  calendar: KnownCalendar
  care: EndedCare | undefined
  nowMs: number
  advice: ReviewMachine['advice']
}

export function told(weighed: Weighed, { names, calendar, care, nowMs, advice }: Beside): ReviewMachine {
  const { machine, begun, unplanned, hoursObserved, hoursStopped } = weighed
  return {
    machineId: machine.id,
    labelCode: machine.labelCode,
    typeName: names.types.get(machine.typeId) ?? '',
    warehouseId: machine.warehouseId,
    warehouseName: calendar.name,
    stationName: machine.stationId === null ? null : (names.stations.get(machine.stationId) ?? null),
    stoppages: begun.length,
    planned: begun.length - unplanned.length,
    unplanned: unplanned.length,
    hoursStopped,
    hoursStoppedUnplanned: weighed.hoursStoppedUnplanned,
    hoursStoppedWithinShifts: shiftHours(calendar, weighed.stopped),
    hoursObserved,
    meanHoursBetweenStoppages: meanBetween(hoursObserved, unplanned.length, 1),
    meanHoursToBackInUse: meanDuration(
      unplanned.filter(({ backInUse }) => backInUse !== null).map((stoppage) => hoursOf([spanOf(stoppage, nowMs)])),
      1,
    ),
    availability: hoursObserved > 0 ? Math.max(0, 1 - hoursStopped / hoursObserved) : null,
    careInTime: shareOf(care?.inTime ?? 0, care?.ended ?? 0, 1),
    cost: weighed.cost,
    currency: weighed.currency,
    standsOut: weighed.standsOut,
    advice,
    sentence: sentenceOf(weighed),
  }
}
