/** One connection and one organisation on which seeds are played, each in a transaction that is thrown away afterwards. */
import { createPool, Database, insertRows, PgScope } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { PoolClient } from 'pg'
import { insertMailOrganisation, type MailOrganisation } from '../support/mail-organisation.js'

export const MACHINES = 5

export interface Lane {
  client: PoolClient
  organisation: MailOrganisation & { administratorId: string }
  /** Label of each occurrence's machine. */
  labels: ReadonlyMap<string, string>
  scope: PgScope
  close(): Promise<void>
}

/**
 * The statements under test ask clock_timestamp() for leases. Here that name finds a function of ours first, which
 * tells the simulation's time; nothing of the statements is changed.
 */
const CLOCK = `
  CREATE SCHEMA IF NOT EXISTS simulated;
  CREATE OR REPLACE FUNCTION simulated.clock_timestamp() RETURNS timestamptz LANGUAGE sql VOLATILE
    AS $$ SELECT current_setting('simulated.now')::timestamptz $$;`

export async function openLane(url: string, word: string): Promise<Lane> {
  const database = await Database.open({ url, applicationName: 'simulation', most: 2 })
  const made = await insertMailOrganisation(database, word, { machines: MACHINES, readers: 0 })
  const administratorId = newId()
  const labels = await database.withOrganisationSql(made.organisationId, async (scope) => {
    await scope.run('UPDATE warehouse SET planned_on = NULL')
    // Mails alone are played here.
    await scope.run('DELETE FROM webhook_delivery')
    await insertRows(scope, 'person', [
      { id: administratorId, name: 'Ada', email: `ada.${word}@example.org`, role: 'administrator', created_at: '2026-01-01T00:00:00Z' },
    ])
    return scope.rows<{ id: string; label: string }>(
      'SELECT o.id, k.label_code AS label FROM occurrence o JOIN machine k ON k.id = o.machine_id WHERE o.id = ANY($1::uuid[])',
      [made.occurrenceIds],
    )
  })
  await database.close()
  const pool = createPool({ url, applicationName: 'simulation', most: 1 })
  const client = await pool.connect()
  await client.query(CLOCK)
  await client.query(`SET search_path = simulated, pg_catalog, public`)
  await client.query(`SELECT set_config('app.organisation_id', $1, false)`, [made.organisationId])
  return {
    client,
    organisation: { ...made, administratorId },
    labels: new Map(labels.map(({ id, label }) => [id, label])),
    scope: new PgScope(made.organisationId, client),
    async close() {
      client.release()
      await pool.end()
    },
  }
}
