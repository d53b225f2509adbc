/** What a look at every cell of a column says of its dates and numbers: which forms fit all of them. */
import { type DateForm, dayIn, type DecimalMark, numberIn, YEAR_LAST } from './values.js'

export interface ColumnFacts {
  filled: number
  /** Dates that need a form: neither year first nor anything else. */
  dates: number
  fitsDmy: boolean
  fitsMdy: boolean
  /** Numbers with a mark in them. */
  marked: number
  fitsPoint: boolean
  fitsComma: boolean
}

const MARKED = /^\s*-?[\d.,\u00a0\u202f ']*[.,][\d.,]*\s*$/

export function noFacts(): ColumnFacts {
  return { filled: 0, dates: 0, fitsDmy: true, fitsMdy: true, marked: 0, fitsPoint: true, fitsComma: true }
}

/** A broken cell speaks for neither form: it will be refused by itself. */
export function noteCell(facts: ColumnFacts, cell: string): void {
  if (cell.trim() === '') return
  facts.filled += 1
  if (YEAR_LAST.test(cell.trim())) {
    const [dmy, mdy] = [dayIn('dmy', cell) !== null, dayIn('mdy', cell) !== null]
    if (!dmy && !mdy) return
    facts.dates += 1
    facts.fitsDmy &&= dmy
    facts.fitsMdy &&= mdy
  } else if (MARKED.test(cell)) {
    const [point, comma] = [numberIn('.', cell) !== null, numberIn(',', cell) !== null]
    if (!point && !comma) return
    facts.marked += 1
    facts.fitsPoint &&= point
    facts.fitsComma &&= comma
  }
}

/** null: ambiguous, a person must say. No date that needs a form is 'iso'. */
export function dateFormOf(columns: readonly ColumnFacts[]): DateForm | null {
  const asked = columns.filter(({ dates }) => dates > 0)
  if (asked.length === 0) return 'iso'
  const dmy = asked.every(({ fitsDmy }) => fitsDmy)
  const mdy = asked.every(({ fitsMdy }) => fitsMdy)
  if (dmy === mdy) return null
  return dmy ? 'dmy' : 'mdy'
}

/** null: '1,234' may be a thousand or a little more than one; a person must say. */
export function decimalMarkOf(columns: readonly ColumnFacts[]): DecimalMark | null {
  const asked = columns.filter(({ marked }) => marked > 0)
  if (asked.length === 0) return '.'
  const point = asked.every(({ fitsPoint }) => fitsPoint)
  const comma = asked.every(({ fitsComma }) => fitsComma)
  if (point === comma) return null
  return point ? '.' : ','
}
