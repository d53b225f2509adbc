import { ConflictError, InvalidError } from '@tapewarden/platform'
import type { ImportDetail, RouteBody, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import type { Changing, Reading } from '../use/work.js'
import { FIELDS, headingKey } from './fields.js'
import { forgetOutcomes, storedRows } from './import-parts.js'
import { detailOf, formsOf, IMPORT_SELECT, type ImportRow, importRow, summaryOf } from './import-rows.js'

export async function listImports(reading: Reading, query: RouteQuery<Routes['listImports']>): Promise<RouteResult<Routes['listImports']>> {
  const after = readCursor(query.cursor, ['id'])
  // Ids are made in the order of time.
  const rows = await reading.rows<ImportRow>(`${IMPORT_SELECT} AND ($2::uuid IS NULL OR i.id < $2) ORDER BY i.id DESC LIMIT $3`, [
    after?.[0] ?? null,
    query.limit + 1,
  ])
  return pageOf(rows, query.limit, (row) => [row.id], summaryOf)
}

export async function getImport(reading: Reading, importId: string): Promise<ImportDetail> {
  return detailOf(reading, await importRow(reading, importId))
}

export async function listImportRows(
  reading: Reading,
  importId: string,
  query: RouteQuery<Routes['listImportRows']>,
): Promise<RouteResult<Routes['listImportRows']>> {
  await importRow(reading, importId)
  const after = readCursor(query.cursor, ['number'])
  const rows = await storedRows(reading, importId, {
    outcome: query.outcome ?? null,
    after: Number(after?.[0] ?? 0),
    most: query.limit + 1,
  })
  return pageOf(
    rows,
    query.limit,
    (row) => [row.position],
    ({ line, cells, outcome, faults, applied }) => ({ line, cells, outcome, faults, applied }),
  )
}

async function locked(changing: Changing, importId: string, states: readonly ImportRow['state'][], doing: string): Promise<ImportRow> {
  await changing.rows(`SELECT id FROM import WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [importId])
  const row = await importRow(changing, importId)
  if (!states.includes(row.state))
    throw new ConflictError('IMPORT_NOT_READY', `This import is ${row.state.replace('_', ' ')}; it cannot be ${doing} now.`)
  return row
}

function checkMapping(row: ImportRow, mapping: Readonly<Record<string, number>>): void {
  const fields = FIELDS[row.kind]
  const unknown = Object.keys(mapping).find((key) => !fields.some((field) => field.key === key))
  if (unknown !== undefined) throw new InvalidError('UNKNOWN_FIELD', `There is no field ${unknown} here.`, `/mapping/${unknown}`)
  const beyond = Object.entries(mapping).find(([, at]) => at >= row.headings.length)
  if (beyond) throw new InvalidError('UNKNOWN_COLUMN', 'The file has no such column.', `/mapping/${beyond[0]}`)
  const missing = fields.find((field) => field.required && mapping[field.key] === undefined)
  if (missing) throw new InvalidError('FIELD_MISSING', `Say which column holds ‘${missing.label}’.`, `/mapping/${missing.key}`)
  const columns = Object.values(mapping)
  if (new Set(columns).size < columns.length) throw new InvalidError('COLUMN_TWICE', 'One column is taken for two things.', '/mapping')
}

/** Begins the dry run. What the columns prove needs no answer; where both forms fit, a person must have said which. */
export async function mapImport(changing: Changing, importId: string, body: RouteBody<Routes['mapImport']>): Promise<ImportDetail> {
  const row = await locked(changing, importId, ['to_map', 'checked'], 'mapped')
  checkMapping(row, body.mapping)
  const proven = formsOf(row, body.mapping)
  const dateForm = body.dateForm ?? proven.dateForm
  const decimalMark = body.decimalMark ?? proven.decimalMark
  if (dateForm === null)
    throw new InvalidError(
      'DATE_FORM_AMBIGUOUS',
      'These dates can be read in two ways. Say whether the day or the month comes first.',
      '/dateForm',
    )
  if (decimalMark === null)
    throw new InvalidError(
      'DECIMAL_MARK_AMBIGUOUS',
      'These numbers can be read in two ways. Say whether the point or the comma is the decimal mark.',
      '/decimalMark',
    )
  await changing.run(
    `UPDATE import SET mapping = $3, date_form = $4, decimal_mark = $5, state = 'checking', worked_position = 0, lease_until = NULL, problem = NULL, counts = DEFAULT
     WHERE organisation_id = $1 AND id = $2`,
    [importId, JSON.stringify(body.mapping), dateForm, decimalMark],
  )
  await forgetOutcomes(changing, importId)
  await changing.run(
    `INSERT INTO import_mapping (organisation_id, kind, headings, mapping, date_form, decimal_mark) VALUES ($1, $2, $3, $4, $5, $6)
     ON CONFLICT (organisation_id, kind, headings) DO UPDATE SET mapping = excluded.mapping, date_form = excluded.date_form, decimal_mark = excluded.decimal_mark`,
    [row.kind, headingKey(row.headings), JSON.stringify(body.mapping), dateForm, decimalMark],
  )
  return getImport(changing, importId)
}

export async function applyImport(changing: Changing, importId: string, body: RouteBody<Routes['applyImport']>): Promise<ImportDetail> {
  const { counts } = await locked(changing, importId, ['checked'], 'written')
  if (body.how === 'all_or_nothing' && counts.refused > 0)
    throw new ConflictError(
      'ROWS_REFUSED',
      `${counts.refused} rows are refused, so nothing is written. Correct them, or take the good rows only.`,
    )
  await changing.run(
    `UPDATE import SET how = $3, state = 'applying', worked_position = 0, lease_until = NULL, problem = NULL WHERE organisation_id = $1 AND id = $2`,
    [importId, body.how],
  )
  return getImport(changing, importId)
}

export async function cancelImport(changing: Changing, importId: string): Promise<ImportDetail> {
  await locked(changing, importId, ['to_map', 'checking', 'checked', 'applying', 'failed'], 'cancelled')
  await changing.run(`UPDATE import SET state = 'cancelled', lease_until = NULL, ended_at = $3 WHERE organisation_id = $1 AND id = $2`, [
    importId,
    changing.now,
  ])
  return getImport(changing, importId)
}
