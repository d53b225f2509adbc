/** The review as a file: the numbers of the screen, unrounded, safe against formulas in spreadsheets. Pure. */
import type { FileAnswer, Review } from '@tapewarden/shared'
import { csvFile } from '../ui/csv.js'

export function csvOf(review: Review): FileAnswer {
  return csvFile(`review ${review.from} to ${review.to}.csv`, [
    [
      'Machine',
      'Warehouse',
      'Station',
      'Stoppages',
      'Unplanned',
      'Hours stopped',
      'Hours in service',
      'Mean hours between',
      'low',
      'high',
      'More often than chance explains',
      'Cost',
      'Currency',
    ],
    ...review.machines.map((one) => [
      one.labelCode,
      one.warehouseName,
      one.stationName,
      one.stoppages,
      one.unplanned,
      one.hoursStopped,
      one.hoursObserved,
      one.meanHoursBetweenStoppages.value,
      one.meanHoursBetweenStoppages.low,
      one.meanHoursBetweenStoppages.high,
      one.standsOut ? 'yes' : 'no',
      one.cost,
      one.cost === null ? null : one.currency,
    ]),
    [],
    ['Measure', 'Unit', 'Value', 'low', 'high', 'n', 'How', 'Left out', 'Why there is none'],
    ...review.measures.map(({ name, unit, formula, exclusions, estimate }) => [
      name,
      unit,
      estimate.value,
      estimate.low,
      estimate.high,
      estimate.n,
      formula,
      exclusions,
      estimate.hiddenReason,
    ]),
  ])
}
