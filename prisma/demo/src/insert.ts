/** Writes all rows in one transaction, a statement a table; columns that a row does not name take their default. */
import type { PoolClient } from 'pg'
import type { Row, Rows } from './rows.js'

const CHUNK = 2000

async function insertTable(client: PoolClient, table: string, rows: Row[]): Promise<void> {
  const columns = [...new Set(rows.flatMap((row) => Object.keys(row)))]
  const list = columns.map((column) => `"${column}"`).join(', ')
  for (let from = 0; from < rows.length; from += CHUNK)
    await client.query(`INSERT INTO "${table}" (${list}) SELECT ${list} FROM jsonb_populate_recordset(NULL::"${table}", $1::jsonb)`, [
      JSON.stringify(rows.slice(from, from + CHUNK)),
    ])
}

export async function insertAll(client: PoolClient, rows: Rows): Promise<void> {
  await client.query('BEGIN')
  try {
    await client.query("SELECT set_config('app.organisation_id', $1, true)", [rows.organisationId])
    for (const [table, list] of rows.byTable) await insertTable(client, table, list)
    await client.query('COMMIT')
  } catch (error) {
    await client.query('ROLLBACK')
    throw error
  }
}
