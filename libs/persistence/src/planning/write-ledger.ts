import { hash } from 'node:crypto'
import { copyIn, copyLine } from '../copy.js'
import type { PgScope } from '../pg-scope.js'
import { dayText } from './days.js'

/** One row of the ledger, as the pure code made it. */
export interface LedgerRow {
  day: number
  strips: number
  metres: number
  motorMinutes: number
  stripsTotal: number
  kind: string
  relativeError: number
}

export interface LedgerToWrite {
  machineId: string
  /** Months whose rows differ from what was written last, as '2026-03'; their lines hold the whole month. */
  months: string[]
  lines: string[]
  digests: Readonly<Record<string, string>>
}

const COLUMNS = ['machine_id', 'day', 'strips', 'metres', 'motor_minutes', 'strips_total', 'kind', 'relative_error']
const VALUES = COLUMNS.slice(2)

/** Numbers of one day, as they go into the digest. */
const FIELDS = 7
const KIND_NUMBER: Readonly<Record<string, number>> = { counter: 1, strips: 2, cartons: 3, rolls: 4, tap: 5 }
let scratch = new Float64Array(31 * FIELDS)

/** A digest of the rows [from, to) by their exact numbers; no text is made of them. */
function digestOf(rows: readonly LedgerRow[], from: number, to: number): string {
  if (scratch.length < (to - from) * FIELDS) scratch = new Float64Array((to - from) * FIELDS)
  let at = 0
  for (let index = from; index < to; index++) {
    const row = rows[index] as LedgerRow
    scratch[at++] = row.day
    scratch[at++] = row.strips
    scratch[at++] = row.metres
    scratch[at++] = row.motorMinutes
    scratch[at++] = row.stripsTotal
    scratch[at++] = row.relativeError
    scratch[at++] = KIND_NUMBER[row.kind] ?? 0
  }
  return hash('md5', new Uint8Array(scratch.buffer, 0, at * 8), 'base64').slice(0, 16)
}

/** Where each month of the rows begins and ends; rows are oldest first. */
function monthsOf(rows: readonly LedgerRow[]): { name: string; from: number; to: number }[] {
  const months: { name: string; from: number; to: number }[] = []
  let end = -1
  for (const [index, row] of rows.entries()) {
    const open = months.at(-1)
    if (open && row.day < end) open.to = index + 1
    else {
      const name = dayText(row.day).slice(0, 7)
      end = firstOfNextMonth(name)
      months.push({ name, from: index, to: index + 1 })
    }
  }
  return months
}

function firstOfNextMonth(name: string): number {
  const [year, month] = name.split('-').map(Number) as [number, number]
  return Date.UTC(year, month, 1) / 86_400_000
}

function lineOf(machineId: string, row: LedgerRow): string {
  return copyLine([machineId, dayText(row.day), row.strips, row.metres, row.motorMinutes, row.stripsTotal, row.kind, row.relativeError])
}

/**
 * The months of a machine's ledger that differ from the last writing.
 * @param before digests of the last writing
 * @returns null where nothing changed
 */
export function changedMonths(
  machineId: string,
  warehouseId: string,
  rows: readonly LedgerRow[],
  before: Readonly<Record<string, string>>,
): LedgerToWrite | null {
  const months = monthsOf(rows)
  const place = warehouseId.slice(-4)
  const digests: Record<string, string> = {}
  for (const { name, from, to } of months) digests[name] = `${place}${digestOf(rows, from, to)}`
  const changed = [...new Set([...Object.keys(digests), ...Object.keys(before)])].filter((name) => digests[name] !== before[name])
  if (changed.length === 0) return null
  const lines = months
    .filter(({ name }) => changed.includes(name))
    .flatMap(({ from, to }) => rows.slice(from, to).map((row) => lineOf(machineId, row)))
  return { machineId, months: changed, lines, digests }
}

const CREATE = `CREATE TEMPORARY TABLE IF NOT EXISTS pass_ledger (
  machine_id uuid, day date, strips double precision, metres double precision, motor_minutes double precision, strips_total double precision, kind text, relative_error double precision) ON COMMIT DELETE ROWS`

const UPSERT = `INSERT INTO ledger_day AS l (organisation_id, ${COLUMNS.join(', ')}, warehouse_id) SELECT $1, ${COLUMNS.join(', ')}, $2 FROM pass_ledger
  ON CONFLICT (organisation_id, machine_id, day) DO UPDATE SET ${[...VALUES, 'warehouse_id'].map((column) => `${column} = excluded.${column}`).join(', ')}
  WHERE (${VALUES.map((column) => `l.${column}`).join(', ')}, l.warehouse_id) IS DISTINCT FROM (${VALUES.map((column) => `excluded.${column}`).join(', ')}, excluded.warehouse_id)`

/** Days of the changed months on which nothing is known any more. */
const PRUNE = `DELETE FROM ledger_day l USING unnest($2::uuid[], $3::date[]) AS m(machine_id, first)
  WHERE l.organisation_id = $1 AND l.machine_id = m.machine_id AND l.day >= m.first AND l.day < m.first + INTERVAL '1 month'
    AND NOT EXISTS (SELECT 1 FROM pass_ledger p WHERE p.machine_id = l.machine_id AND p.day = l.day)`

/** Of these machines, those of which any day is in the ledger: nothing of the others can be taken out. */
const IN_LEDGER = `SELECT id FROM unnest($2::uuid[]) AS id WHERE EXISTS (SELECT 1 FROM ledger_day WHERE organisation_id = $1 AND machine_id = id)`

/** Writes only the days that differ. @returns days written or removed */
export async function writeLedger(scope: PgScope, warehouseId: string, changed: readonly LedgerToWrite[]): Promise<number> {
  if (changed.length === 0) return 0
  await scope.run(CREATE)
  await copyIn(
    scope,
    'pass_ledger',
    COLUMNS,
    changed.flatMap((machine) => machine.lines),
  )
  const ids = changed.map(({ machineId }) => machineId)
  const known = new Set((await scope.rows<{ id: string }>(IN_LEDGER, [scope.organisationId, ids])).map(({ id }) => id))
  const written = await scope.run(UPSERT, [scope.organisationId, warehouseId])
  const months = changed
    .filter(({ machineId }) => known.has(machineId))
    .flatMap((machine) => machine.months.map((month) => [machine.machineId, `${month}-01`] as const))
  if (months.length === 0) return written
  const removed = await scope.run(PRUNE, [scope.organisationId, months.map(([id]) => id), months.map(([, first]) => first)])
  return written + removed
}

export interface SetAside {
  evidenceId: string
  code: string
  reason: string
}

/** Evidence that cannot be true is kept with its reason; what a person has decided meanwhile stays. @returns how much was set aside */
export async function setEvidenceAside(scope: PgScope, list: readonly SetAside[]): Promise<number> {
  if (list.length === 0) return 0
  return scope.run(
    `UPDATE evidence e SET state = 'set_aside', set_aside_code = a.code, set_aside_reason = a.reason
     FROM jsonb_to_recordset($2::jsonb) AS a("evidenceId" uuid, code text, reason text) WHERE e.organisation_id = $1 AND e.id = a."evidenceId" AND e.state = 'counted'`,
    [scope.organisationId, JSON.stringify(list)],
  )
}
