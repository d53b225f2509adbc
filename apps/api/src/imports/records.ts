/** A row of cells into a record of values, by the mapping; every cell that cannot be read says so. */
import type { RowFault } from '@tapewarden/shared'
import type { FieldDefinition } from './field.js'
import { FIELDS, type ImportKind } from './fields.js'
import {
  type DateForm,
  type DecimalMark,
  type Read,
  readChoice,
  readDate,
  readLabel,
  readMonth,
  readNumber,
  readText,
  readTime,
  readTimeOfMoment,
  readZone,
} from './read/values.js'

export type RecordValue = string | number | null
/** By field; null: the cell is empty. Fields without a column are left out. */
export type ImportRecord = Readonly<Record<string, RecordValue>>

export interface Settings {
  mapping: Readonly<Record<string, number>>
  dateForm: DateForm
  decimalMark: DecimalMark
}

const LONGEST_SHOWN = 60
const NO_CHOICES = {}

function readValue(field: FieldDefinition, cell: string, settings: Settings): Read<RecordValue> {
  switch (field.type) {
    case 'label':
      return readLabel(cell)
    case 'date':
      return readDate(cell, settings.dateForm)
    case 'month':
      return readMonth(cell)
    case 'time':
      return readTime(cell)
    case 'number':
      return readNumber(cell, settings.decimalMark, field)
    case 'choice':
      return readChoice(cell, field.choices ?? NO_CHOICES)
    case 'zone':
      return readZone(cell)
    case 'text':
      return readText(cell, field.longest ?? 1000)
  }
}

export function faultIn(column: string, value: string, code: string, problem: string, remedy: string): RowFault {
  return { column, value: value.length > LONGEST_SHOWN ? `${value.slice(0, LONGEST_SHOWN)}…` : value, code, problem, remedy }
}

export function headingOf(kind: ImportKind, fieldKey: string, headings: readonly string[], mapping: Settings['mapping']): string {
  const at = mapping[fieldKey]
  const label = FIELDS[kind].find(({ key }) => key === fieldKey)?.label ?? fieldKey
  return (at === undefined ? undefined : headings[at]?.trim()) || label
}

export interface ReadRecord {
  record: ImportRecord
  faults: readonly RowFault[]
}

/** Of most rows: one list for all of them. */
const NO_FAULTS: readonly RowFault[] = []

function surplusFault(cells: readonly string[], headings: readonly string[]): readonly RowFault[] {
  if (cells.length <= headings.length) return NO_FAULTS
  const surplus = cells.slice(headings.length).findIndex((cell) => cell.trim() !== '')
  if (surplus < 0) return NO_FAULTS
  return [
    faultIn(
      `column ${headings.length + surplus + 1}`,
      cells[headings.length + surplus] ?? '',
      'TOO_MANY_CELLS',
      'stands beyond the last heading.',
      'Put quotation marks around cells that hold the separator.',
    ),
  ]
}

/** What is the same for all rows of a file is looked up once. */
export function recordReader(kind: ImportKind, headings: readonly string[], settings: Settings): (cells: readonly string[]) => ReadRecord {
  const columns = FIELDS[kind].flatMap((field) => {
    const at = settings.mapping[field.key]
    return at === undefined ? [] : [{ field, at, heading: headingOf(kind, field.key, headings, settings.mapping) }]
  })
  // What has a time of its own may have it in the cell of its day.
  const moment = FIELDS[kind].some(({ type }) => type === 'time') ? columns.find(({ field }) => field.type === 'date') : undefined
  return (cells) => {
    const record: Record<string, RecordValue> = {}
    let faults = surplusFault(cells, headings)
    for (const { field, at, heading } of columns) {
      const cell = cells[at] ?? ''
      if (cell.trim() === '') {
        record[field.key] = null
        if (field.required) faults = [...faults, faultIn(heading, '', 'MISSING', 'is empty.', `Fill in ‘${heading}’.`)]
        continue
      }
      const read = readValue(field, cell, settings)
      if (read.ok) record[field.key] = read.value
      else faults = [...faults, faultIn(heading, cell.trim(), read.fault.code, read.fault.problem, read.fault.remedy)]
    }
    if (moment && faults.length === 0 && (record.time ?? null) === null) {
      const cell = cells[moment.at] ?? ''
      const read = readTimeOfMoment(cell)
      if (read.ok) record.time = read.value
      else faults = [faultIn(moment.heading, cell.trim(), read.fault.code, read.fault.problem, read.fault.remedy)]
    }
    return { record, faults }
  }
}

const KEY_FIELDS: Readonly<Record<ImportKind, readonly string[]>> = {
  warehouses: ['name'],
  stations: ['warehouse', 'name'],
  machines: ['labelCode'],
  components: ['labelCode', 'component'],
  evidence: ['labelCode', 'kind', 'day', 'time'],
  cartons: ['warehouse', 'station', 'day'],
  rolls: ['labelCode', 'fromDate', 'toDate'],
  taps: ['labelCode', 'month'],
  service_history: ['labelCode', 'task', 'doneOn'],
}

/** What two rows of one file must have in common to speak of the same thing. */
export function keyOf(kind: ImportKind, record: ImportRecord): string {
  return KEY_FIELDS[kind].map((field) => String(record[field] ?? '').toLowerCase()).join('\u001f')
}
