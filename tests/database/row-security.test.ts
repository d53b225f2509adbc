/** The second guard alone: every statement here is plain SQL as the application's role, with no scope of ours around it. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { Database, insertAllRows } from '@tapewarden/persistence'
import { Client } from 'pg'
import { createTestDatabase, type TestDatabase } from '../support/database.js'
import { smallOrganisation } from '../support/organisation.js'

// A busy machine takes ten times as long.
jest.setTimeout(120_000)

let test: TestDatabase
let owner: Client
let app: Client
let tables: { name: string; key: string; enabled: boolean; forced: boolean; policies: number }[]
const [ours, theirs] = [smallOrganisation('a'), smallOrganisation('b')]

beforeAll(async () => {
  test = await createTestDatabase()
  const database = await Database.open({ url: test.appUrl, applicationName: 'test' })
  for (const one of [ours, theirs]) await database.withOrganisationSql(one.organisationId, (scope) => insertAllRows(scope, one.rows))
  await database.close()
  owner = new Client({ connectionString: test.ownerUrl })
  app = new Client({ connectionString: test.appUrl })
  await Promise.all([owner.connect(), app.connect()])
  tables = (
    await owner.query(`
      SELECT relname::text AS name, CASE relname WHEN 'organisation' THEN 'id' ELSE 'organisation_id' END AS key, relrowsecurity AS enabled, relforcerowsecurity AS forced,
        (SELECT count(*)::int FROM pg_policy WHERE polrelid = c.oid AND polroles @> ARRAY['tapewarden_app'::regrole::oid]
          AND pg_get_expr(polqual, polrelid) ~ 'current_organisation' AND pg_get_expr(polwithcheck, polrelid) ~ 'current_organisation') AS policies
      FROM pg_class c WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') ORDER BY relname`)
  ).rows
})
afterAll(async () => {
  await Promise.all([owner.end(), app.end()])
  await test.drop()
})

/** Runs a statement as the application with an organisation named (or none) and undoes it. @returns rows touched, or the code of the refusal */
async function attempt(organisationId: string | null, text: string, values: unknown[] = []): Promise<number | string> {
  await app.query('BEGIN')
  try {
    if (organisationId) await app.query(`SELECT set_config('app.organisation_id', $1, true)`, [organisationId])
    return (await app.query(text, values)).rowCount ?? 0
  } catch (error) {
    return (error as { code: string }).code
  } finally {
    await app.query('ROLLBACK')
  }
}

const POLICY_OR_GRANT = '42501'

describe('row-level security of every table', () => {
  it('covers all tables, each with a row of both organisations to look for', async () => {
    expect(tables.length).toBeGreaterThan(40)
    for (const { name, key } of tables) {
      const { rows } = await owner.query(`SELECT count(*)::int AS n FROM "${name}" WHERE "${key}" = ANY($1) GROUP BY "${key}"`, [
        [ours.organisationId, theirs.organisationId],
      ])
      expect({ name, organisations: rows.length }).toEqual({ name, organisations: 2 })
    }
  })

  it('is on and forced, with one policy of the application that reads the organisation', () => {
    expect(tables.filter(({ enabled, forced, policies }) => !(enabled && forced && policies === 1))).toEqual([])
  })

  it('hides the rows of another organisation, and everything where none is named', async () => {
    for (const { name, key } of tables) {
      expect([name, await attempt(ours.organisationId, `SELECT 1 FROM "${name}" WHERE "${key}" = $1`, [ours.organisationId])]).not.toEqual([
        name,
        0,
      ])
      expect([name, await attempt(ours.organisationId, `SELECT 1 FROM "${name}" WHERE "${key}" = $1`, [theirs.organisationId])]).toEqual([
        name,
        0,
      ])
      expect([name, await attempt(ours.organisationId, `SELECT 1 FROM "${name}" WHERE "${key}" <> $1`, [ours.organisationId])]).toEqual([
        name,
        0,
      ])
      expect([name, await attempt(null, `SELECT 1 FROM "${name}"`)]).toEqual([name, 0])
    }
  })

  it('lets no row of another organisation be changed or removed', async () => {
    for (const { name, key } of tables)
      for (const text of [`UPDATE "${name}" SET "${key}" = "${key}" WHERE "${key}" = $1`, `DELETE FROM "${name}" WHERE "${key}" = $1`])
        for (const organisationId of [ours.organisationId, null])
          expect([0, POLICY_OR_GRANT]).toContain(await attempt(organisationId, text, [theirs.organisationId]))
  })

  it('lets no row be given to another organisation, neither a new one nor an own one', async () => {
    for (const { name, key } of tables) {
      const { rows } = await owner.query(`SELECT to_jsonb(t) AS row FROM "${name}" t WHERE "${key}" = $1 LIMIT 1`, [theirs.organisationId])
      const insert = `INSERT INTO "${name}" SELECT * FROM jsonb_populate_record(NULL::"${name}", $1::jsonb)`
      for (const organisationId of [ours.organisationId, null])
        expect([name, await attempt(organisationId, insert, [JSON.stringify(rows[0].row)])]).toEqual([name, POLICY_OR_GRANT])
      expect([
        name,
        await attempt(ours.organisationId, `UPDATE "${name}" SET "${key}" = $1 WHERE "${key}" = $2`, [
          theirs.organisationId,
          ours.organisationId,
        ]),
      ]).toEqual([name, POLICY_OR_GRANT])
    }
  })

  it('cannot be switched off by the application', async () => {
    for (const text of [
      'ALTER TABLE machine DISABLE ROW LEVEL SECURITY',
      'SET LOCAL ROLE postgres',
      'SET LOCAL ROLE tapewarden_directory',
      'DROP POLICY own_organisation ON machine',
      'CREATE TABLE public.mine (x int)',
    ])
      expect([text, await attempt(ours.organisationId, text)]).toEqual([text, POLICY_OR_GRANT])
    // Asking for no guard is answered with an error, not with rows.
    await app.query('SET row_security = off')
    expect(await attempt(ours.organisationId, 'SELECT 1 FROM machine')).toBe(POLICY_OR_GRANT)
    await app.query('RESET row_security')
  })

  it('keeps audit entries as they were written, even one’s own', async () => {
    expect(await attempt(ours.organisationId, `UPDATE audit_entry SET actor = 'nobody'`)).toBe(POLICY_OR_GRANT)
    expect(await attempt(ours.organisationId, 'DELETE FROM audit_entry')).toBe(POLICY_OR_GRANT)
  })
})
