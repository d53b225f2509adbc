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

/**
 * Splits a machine's ledger by month and keeps the months that changed.
 * @param before digests of the last writing
 * @returns null where nothing changed
 */
export function changedMonths(
  machineId: string,
  warehouseId: string,
  rows: readonly LedgerRow[],
  before: Readonly<Record<string, string>>,
): LedgerToWrite | null {
  const byMonth = new Map<string, string[]>()
  let month = ''
  let lines: string[] = []
  for (const row of rows) {
    const day = dayText(row.day)
    if (!day.startsWith(month) || month === '') {
      month = day.slice(0, 7)
      lines = byMonth.get(month) ?? []
      byMonth.set(month, lines)
    }
    lines.push(copyLine([machineId, day, row.strips, row.metres, row.motorMinutes, row.stripsTotal, row.kind, row.relativeError]))
  }
  const digests: Record<string, string> = {}
  for (const [name, list] of byMonth) digests[name] = hash('md5', warehouseId + list.join('')).slice(0, 16)
  const months = [...new Set([...Object.keys(digests), ...Object.keys(before)])].filter((name) => digests[name] !== before[name])
  if (months.length === 0) return null
  return { machineId, months, lines: months.flatMap((name) => byMonth.get(name) ?? []), digests }
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
  const written = await scope.run(UPSERT, [scope.organisationId, warehouseId])
  const months = changed.flatMap((machine) => machine.months.map((month) => [machine.machineId, `${month}-01`] as const))
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
