/** The import as it stands in the database. */
import type { Import, ImportDetail } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'
import { FIELDS, guessMapping, headingKey, type ImportKind } from './fields.js'
import { sampleOf } from './import-parts.js'
import type { ColumnFacts } from './read/column-facts.js'
import { dateFormOf, decimalMarkOf } from './read/column-facts.js'
import type { DateForm, DecimalMark } from './read/values.js'

export interface ImportRow extends Record<string, unknown> {
  id: string
  kind: ImportKind
  state: Import['state']
  fileName: string
  headings: string[]
  columnFacts: ColumnFacts[]
  mapping: Record<string, number>
  dateForm: DateForm | null
  decimalMark: DecimalMark | null
  how: Import['how']
  rowCount: number
  counts: Import['counts']
  workedPosition: number
  problem: string | null
  personName: string | null
  createdAt: string
  endedAt: string | null
}
export const IMPORT_SELECT = `SELECT i.id, i.kind, i.state, i.file_name AS "fileName", i.headings, i.column_facts AS "columnFacts", i.mapping,
    i.date_form AS "dateForm", i.decimal_mark AS "decimalMark", i.how, i.row_count AS "rowCount", i.counts, i.worked_position AS "workedPosition", i.problem,
    p.name AS "personName", i.created_at AS "createdAt", i.ended_at AS "endedAt"
  FROM import i LEFT JOIN person p ON p.organisation_id = i.organisation_id AND p.id = i.person_id WHERE i.organisation_id = $1`

export function importRow(reading: Reading, importId: string): Promise<ImportRow> {
  return reading.one<ImportRow>('import', `${IMPORT_SELECT} AND i.id = $2`, [importId])
}

export function summaryOf(row: ImportRow): Import {
  const { id, kind, state, fileName, personName, createdAt, endedAt, rowCount, counts, workedPosition, how, problem } = row
  return { id, kind, state, fileName, personName, createdAt, endedAt, rowCount, workedCount: workedPosition, counts, how, problem }
}

interface Remembered extends Record<string, unknown> {
  mapping: Record<string, number>
  dateForm: DateForm | null
  decimalMark: DecimalMark | null
}

async function mappingOf(
  reading: Reading,
  row: ImportRow,
): Promise<Pick<ImportDetail, 'mapping' | 'mappingFrom' | 'dateForm' | 'decimalMark'>> {
  if (Object.keys(row.mapping).length > 0)
    return { mapping: row.mapping, mappingFrom: 'saved', dateForm: row.dateForm, decimalMark: row.decimalMark }
  const remembered = await reading.maybeOne<Remembered>(
    `SELECT mapping, date_form AS "dateForm", decimal_mark AS "decimalMark" FROM import_mapping WHERE organisation_id = $1 AND kind = $2 AND headings = $3`,
    [row.kind, headingKey(row.headings)],
  )
  const mapping = remembered?.mapping ?? guessMapping(row.kind, row.headings)
  // The form of dates and numbers is never remembered into an ambiguity: the file itself must show it, or a person say it.
  return { mapping, mappingFrom: remembered ? 'remembered' : 'guessed', ...formsOf(row, mapping) }
}

const columnsOf = (row: ImportRow, mapping: Readonly<Record<string, number>>, type: 'date' | 'number'): ColumnFacts[] =>
  FIELDS[row.kind].flatMap((field) => {
    const at = field.type === type ? mapping[field.key] : undefined
    const facts = at === undefined ? undefined : row.columnFacts[at]
    return facts ? [facts] : []
  })

/** What the mapped columns themselves prove; null where both forms fit and a person must say. */
export function formsOf(
  row: ImportRow,
  mapping: Readonly<Record<string, number>>,
): { dateForm: DateForm | null; decimalMark: DecimalMark | null } {
  return { dateForm: dateFormOf(columnsOf(row, mapping, 'date')), decimalMark: decimalMarkOf(columnsOf(row, mapping, 'number')) }
}

function columnSays({ dates, fitsDmy, fitsMdy, marked, fitsPoint, fitsComma }: ColumnFacts): ImportDetail['columns'][number] {
  return {
    dates: dates === 0 ? null : fitsDmy && fitsMdy ? 'ask' : fitsDmy ? 'dmy' : fitsMdy ? 'mdy' : 'mixed',
    numbers: marked === 0 ? null : fitsPoint && fitsComma ? 'ask' : fitsPoint ? '.' : fitsComma ? ',' : 'mixed',
  }
}

export async function detailOf(reading: Reading, row: ImportRow): Promise<ImportDetail> {
  return {
    ...summaryOf(row),
    headings: row.headings,
    sample: await sampleOf(reading, row.id),
    fields: FIELDS[row.kind].map(({ key, label, required, type, example }) => ({ key, label, required: required ?? false, type, example })),
    ...(await mappingOf(reading, row)),
    columns: row.columnFacts.map(columnSays),
  }
}
