/** The review as a file: the numbers of the screen, unrounded, safe against formulas in spreadsheets. Pure. */
import type { FileAnswer, Review } from '@tapewarden/shared'

/** RFC 4180; a text that a spreadsheet would take for a formula gets an apostrophe before it. */
function cell(value: string | number | null): string {
  if (value === null) return ''
  if (typeof value === 'number') return String(value)
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}
const line = (cells: (string | number | null)[]): string => cells.map(cell).join(',')

export function csvOf(review: Review): FileAnswer {
  const lines = [
    line([
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
    ]),
    ...review.machines.map((one) =>
      line([
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
      ]),
    ),
    '',
    line(['Measure', 'Unit', 'Value', 'low', 'high', 'n', 'How', 'Left out', 'Why there is none']),
    ...review.measures.map(({ name, unit, formula, exclusions, estimate }) =>
      line([name, unit, estimate.value, estimate.low, estimate.high, estimate.n, formula, exclusions, estimate.hiddenReason]),
    ),
  ]
  return {
    fileName: `review ${review.from} to ${review.to}.csv`,
    mediaType: 'text/csv',
    encoding: 'utf8',
    content: `\ufeff${lines.join('\r\n')}\r\n`,
  }
}
