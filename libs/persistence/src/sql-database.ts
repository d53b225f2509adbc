import { type Clock, type ClockSettings, createClock } from '@tapewarden/platform'
import type { Pool, PoolClient } from 'pg'
import { type ConnectionSettings, createPool } from './connection.js'
import { refuseUnguardedRole } from './guard.js'
import { PgScope } from './pg-scope.js'

export const SET_ORGANISATION = `SELECT set_config('app.organisation_id', $1, true)`
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i

/**
 * Beginning and naming the organisation in one round trip. Several statements in one text take no parameters, so
 * nothing but an id is ever put into it.
 */
async function beginAs(client: PoolClient, organisationId: string, begin: string): Promise<void> {
  if (UUID.test(organisationId)) {
    await client.query(`${begin}; SELECT set_config('app.organisation_id', '${organisationId}', true)`)
    return
  }
  await client.query(begin)
  await client.query(SET_ORGANISATION, [organisationId])
}

/** @throws UnguardedRoleError where the role could see every organisation */
export async function openPool(settings: ConnectionSettings): Promise<Pool> {
  const pool = createPool(settings)
  try {
    await refuseUnguardedRole(pool)
    return pool
  } catch (error) {
    await pool.end()
    throw error
  }
}

/**
 * The one way to the rows. Every access names its organisation first, in one place; PostgreSQL's row-level
 * security is the second, independent guard.
 */
export class SqlDatabase {
  protected constructor(readonly pool: Pool) {}

  /** @throws UnguardedRoleError where the role could see every organisation */
  static async open(settings: ConnectionSettings): Promise<SqlDatabase> {
    return new SqlDatabase(await openPool(settings))
  }

  /** One transaction through plain SQL: for bulk work and hot reads. */
  withOrganisationSql<Answer>(organisationId: string, work: (scope: PgScope) => Promise<Answer>): Promise<Answer> {
    return this.inTransaction('BEGIN', organisationId, work)
  }

  /** Reads as of one moment, however long it takes, and writes nothing. */
  withOrganisationSnapshot<Answer>(organisationId: string, work: (scope: PgScope) => Promise<Answer>): Promise<Answer> {
    return this.inTransaction('BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY', organisationId, work)
  }

  private async inTransaction<Answer>(begin: string, organisationId: string, work: (scope: PgScope) => Promise<Answer>): Promise<Answer> {
    const client = await this.pool.connect()
    let broken: Error | undefined
    try {
      await beginAs(client, organisationId, begin)
      const answer = await work(new PgScope(organisationId, client))
      await client.query('COMMIT')
      return answer
    } catch (error) {
      await client.query('ROLLBACK').catch((lost: Error) => (broken = lost))
      throw error
    } finally {
      client.release(broken)
    }
  }

  /** The moment by the database's clock. */
  async askTime(): Promise<Date> {
    const { rows } = await this.pool.query<{ now: Date }>('SELECT clock_timestamp() AS now')
    return (rows[0] as { now: Date }).now
  }

  clock(settings: ClockSettings): Clock {
    return createClock(settings, () => this.askTime())
  }

  /** Which organisations there are: one of the few questions that cross them. */
  async organisations(): Promise<string[]> {
    const { rows } = await this.pool.query<{ organisation_id: string }>('SELECT organisation_id FROM directory_organisations()')
    return rows.map((row) => row.organisation_id)
  }

  async close(): Promise<void> {
    if (!this.pool.ended) await this.pool.end()
  }
}
