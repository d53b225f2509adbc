import { escapeIdentifier } from 'pg'
import type { PgScope } from './pg-scope.js'

export type NewRow = Readonly<Record<string, unknown>>

/** Rows by table, in an order in which foreign keys hold. */
export type NewRows = Readonly<Record<string, readonly NewRow[]>>

const CHUNK = 2000

/**
 * Inserts many rows of one table, a statement a chunk; columns that no row names take their default.
 * organisation_id is filled in where the table has it. For imports, demo and tests.
 */
export async function insertRows(scope: PgScope, table: string, rows: readonly NewRow[]): Promise<void> {
  const whole = table === 'organisation' ? rows : rows.map((row) => ({ organisation_id: scope.organisationId, ...row }))
  const columns = [...new Set(whole.flatMap((row) => Object.keys(row)))].map(escapeIdentifier).join(', ')
  const name = escapeIdentifier(table)
  for (let from = 0; from < whole.length; from += CHUNK)
    await scope.run(`INSERT INTO ${name} (${columns}) SELECT ${columns} FROM jsonb_populate_recordset(NULL::${name}, $1::jsonb)`, [
      JSON.stringify(whole.slice(from, from + CHUNK)),
    ])
}

export async function insertAllRows(scope: PgScope, rows: NewRows): Promise<void> {
  for (const [table, list] of Object.entries(rows)) if (list.length > 0) await insertRows(scope, table, list)
}
