/**
 * The rows of a file as they lie in the database: in parts, each as long as what is worked on at a time and written once.
 * What became of its rows stands beside them, so that judging and applying a part writes one row, not thousands.
 */
import type { RowFault } from '@tapewarden/shared'
import type { Changing, Reading } from '../use/work.js'
import type { ImportKind } from './fields.js'
import type { RowResult } from './outcome.js'
import type { RowOfCells } from './read/file-refused.js'

/** Rows of one transaction: what goes through the forms' own use cases costs more a row. */
export const ROWS_A_PART: Readonly<Record<ImportKind, number>> = {
  warehouses: 50,
  stations: 200,
  machines: 50,
  components: 200,
  evidence: 5000,
  cartons: 5000,
  rolls: 5000,
  taps: 5000,
  service_history: 500,
}

export type RowOutcome = RowResult['outcome']
const LETTERS = { new: 'n', changed: 'c', unchanged: 'u', refused: 'r' } as const
const OUTCOMES: Readonly<Record<string, RowOutcome>> = { n: 'new', c: 'changed', u: 'unchanged', r: 'refused' }

export interface Said {
  outcome: RowOutcome
  applied: boolean
}
const said = (letter: string): Said | null => {
  const outcome = OUTCOMES[letter.toLowerCase()]
  return outcome ? { outcome, applied: letter !== letter.toLowerCase() } : null
}

export interface Part {
  firstPosition: number
  rows: RowOfCells[]
  /** A letter a row; null before they were judged. */
  outcomes: string | null
}
export const lastPosition = (part: Part): number => part.firstPosition + part.rows.length - 1

type KeptRow = [line: number, ...cells: string[]]
const asKept = ({ line, cells }: RowOfCells): KeptRow => [line, ...cells]
const asCame = ([line, ...cells]: KeptRow): RowOfCells => ({ line, cells })

export async function addPart(changing: Changing, importId: string, firstPosition: number, rows: readonly RowOfCells[]): Promise<void> {
  await changing.run(`INSERT INTO import_part (organisation_id, import_id, first_position, row_count, rows) VALUES ($1, $2, $3, $4, $5)`, [
    importId,
    firstPosition,
    rows.length,
    JSON.stringify(rows.map(asKept)),
  ])
}

/** The part that begins after a position at which another ends; null: there is none. */
export async function partAfter(reading: Reading, importId: string, position: number): Promise<Part | null> {
  const kept = await reading.maybeOne<{ rows: KeptRow[]; outcomes: string | null }>(
    `SELECT rows, outcomes FROM import_part WHERE organisation_id = $1 AND import_id = $2 AND first_position = $3`,
    [importId, position + 1],
  )
  if (!kept) return null
  return { firstPosition: position + 1, rows: kept.rows.map(asCame), outcomes: kept.outcomes }
}

/** What was told of a row the last time. */
export const saidOf = (part: Part, at: number): Said | null => said(part.outcomes?.[at] ?? '')

export interface Told {
  /** A row, in their order. */
  results: readonly RowResult[]
  /** Of refused rows, by their place in the part. */
  faults: Readonly<Record<number, readonly RowFault[]>>
}

export async function tellPart(changing: Changing, importId: string, part: Part, told: Told, applied: boolean): Promise<void> {
  const letters = told.results.map(({ outcome }) => LETTERS[outcome]).join('')
  const effects = told.results.map((result) => (result.outcome === 'refused' ? null : result.effect))
  await changing.run(
    `UPDATE import_part SET outcomes = $4, faults = $5, effects = $6 WHERE organisation_id = $1 AND import_id = $2 AND first_position = $3`,
    [
      importId,
      part.firstPosition,
      applied ? letters.replaceAll('n', 'N').replaceAll('c', 'C').replaceAll('u', 'U') : letters,
      Object.keys(told.faults).length > 0 ? JSON.stringify(told.faults) : null,
      applied && effects.some((effect) => effect !== null) ? JSON.stringify(effects) : null,
    ],
  )
}

/** As before the dry run. */
export async function forgetOutcomes(changing: Changing, importId: string): Promise<void> {
  await changing.run(
    `UPDATE import_part SET outcomes = NULL, faults = NULL WHERE organisation_id = $1 AND import_id = $2 AND outcomes IS NOT NULL`,
    [importId],
  )
}

export interface StoredRow {
  position: number
  line: number
  cells: string[]
  outcome: RowOutcome | null
  faults: RowFault[]
  applied: boolean
}
interface Listed extends Record<string, unknown> {
  position: number
  row: KeptRow
  letter: string | null
  faults: RowFault[] | null
}

/**
 * In their order, from the first after a position. Letters are counted before any row is unfolded, so that a page of a file
 * of a million rows takes up the few parts in which its rows are.
 */
export async function storedRows(
  reading: Reading,
  importId: string,
  { outcome, after, most }: { outcome: RowOutcome | null; after: number; most: number },
): Promise<StoredRow[]> {
  const rows = await reading.rows<Listed>(
    `WITH left_over AS (
       SELECT first_position, rows, outcomes, faults, greatest($4 - first_position + 1, 0) AS skipped, row_count,
         lower(substr(outcomes, greatest($4 - first_position + 1, 0) + 1)) AS letters
       FROM import_part WHERE organisation_id = $1 AND import_id = $2 AND first_position + row_count > $4 + 1),
     counted AS (SELECT *, CASE WHEN $3::text IS NULL THEN row_count - skipped ELSE length(letters) - length(replace(letters, $3, '')) END AS found FROM left_over),
     summed AS (SELECT *, sum(found) OVER (ORDER BY first_position) - found AS found_before FROM counted)
     SELECT p.first_position + r.place::int - 1 AS position, r.cells AS row, r.letter, p.faults -> (r.place - 1)::text AS faults
     FROM summed p CROSS JOIN LATERAL ROWS FROM (jsonb_array_elements(p.rows), string_to_table(p.outcomes, NULL)) WITH ORDINALITY AS r(cells, letter, place)
     WHERE p.found > 0 AND p.found_before < $5 AND r.place > p.skipped AND ($3 IS NULL OR lower(r.letter) = $3)
     ORDER BY p.first_position, r.place LIMIT $5`,
    [importId, outcome === null ? null : LETTERS[outcome], after, most],
  )
  return rows.map(({ position, row, letter, faults }) => {
    const became = said(letter ?? '')
    return { position, ...asCame(row), outcome: became?.outcome ?? null, faults: faults ?? [], applied: became?.applied ?? false }
  })
}

/** The first rows of a file, as a person looks at them to name its columns. */
export async function sampleOf(reading: Reading, importId: string): Promise<string[][]> {
  const first = await reading.maybeOne<{ rows: KeptRow[] }>(
    `SELECT jsonb_path_query_array(rows, '$[0 to 7]') AS rows FROM import_part WHERE organisation_id = $1 AND import_id = $2 AND first_position = 1`,
    [importId],
  )
  return (first?.rows ?? []).map((row) => asCame(row).cells)
}
