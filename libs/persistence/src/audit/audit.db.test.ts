/** The chain of the audit: what is written stands in it, in the order of commits, and any change of it is found. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { Database, verifyAudit } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import { Client } from 'pg'
import { report } from '../../../../tests/attack/report.js'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { TAMPERINGS } from '../../../../tests/support/audit-tampering.js'

jest.setTimeout(60_000)

let test: TestDatabase
let database: Database
let owner: Client
const ours = newId()
const theirs = newId()
const AT = '2026-03-02T08:00:00Z'

async function write(organisationId: string, count: number, more: Record<string, unknown> = {}): Promise<string[]> {
  const entries = Array.from({ length: count }, (_unused, index) => ({
    organisation_id: organisationId,
    id: newId(),
    at: AT,
    actor: 'Mara',
    action: 'change',
    subject_kind: 'machine',
    subject_id: newId(),
    before: { number: index },
    after: { number: index + 1 },
    ...more,
  }))
  await database.withOrganisationSql(organisationId, (scope) =>
    scope.run('INSERT INTO audit_entry SELECT * FROM jsonb_populate_recordset(NULL::audit_entry, $1::jsonb)', [JSON.stringify(entries)]),
  )
  return entries.map(({ id }) => id)
}
const verify = (organisationId = ours) => database.withOrganisationSql(organisationId, (scope) => verifyAudit(scope))

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'audit test', most: 8 })
  owner = new Client({ connectionString: test.ownerUrl })
  await owner.connect()
  for (const id of [ours, theirs])
    await database.withOrganisationSql(id, (scope) =>
      scope.run(`INSERT INTO organisation (id, name, created_at) VALUES ($1, 'x', $2)`, [id, new Date(AT)]),
    )
  await write(ours, 400)
  await write(theirs, 5)
})
afterAll(async () => {
  await owner.end()
  await database.close()
  await test.drop()
})

describe('the chain', () => {
  it('holds every entry, an organisation by itself', async () => {
    expect(await verify()).toMatchObject({ entries: 400, faults: [], head: { sequence: 400 } })
    expect(await verify(theirs)).toMatchObject({ entries: 5, faults: [], head: { sequence: 5 } })
  })

  it('has no gap and no fork where many write at once, and none of what was undone', async () => {
    await Promise.all([
      ...Array.from({ length: 20 }, () => write(theirs, 3)),
      ...Array.from({ length: 5 }, () =>
        database
          .withOrganisationSql(theirs, async (scope) => {
            await scope.run(
              `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind) VALUES ($1, $2, $3, 'x', 'x', 'x')`,
              [theirs, newId(), new Date(AT)],
            )
            throw new Error('undone')
          })
          .catch(() => undefined),
      ),
    ])
    expect(await verify(theirs)).toMatchObject({ entries: 65, faults: [], head: { sequence: 65 } })
  })

  it.each([
    'UPDATE audit_link SET hash = hash',
    'DELETE FROM audit_link',
    `INSERT INTO audit_link SELECT organisation_id, sequence + 9000, entry_id, content_hash, salt, hash FROM audit_link LIMIT 1`,
    'UPDATE audit_head SET sequence = 0',
    'DELETE FROM audit_head',
    `UPDATE audit_entry SET redacted_by = id`,
    'SELECT audit_append(e) FROM audit_entry e LIMIT 1',
    'ALTER TABLE audit_entry DISABLE TRIGGER audit_entry_chain',
    `SET LOCAL session_replication_role = 'replica'`,
  ])('cannot be written by the application: %s', async (text) => {
    const attempt = database.withOrganisationSql(ours, (scope) => scope.run(text))
    await expect(attempt).rejects.toMatchObject({ code: '42501' })
  })

  it('shows each of 100 changes that somebody with every right makes (A6)', async () => {
    const found: string[] = []
    for (let trial = 0; trial < 100; trial++) {
      const tampering = TAMPERINGS[trial % TAMPERINGS.length]!
      await owner.query(`SET session_replication_role = 'replica'`)
      const undo = await tampering.change(owner, ours, 1 + ((trial * 37) % 399))
      const { faults } = await verify()
      if (faults.length > 0) found.push(tampering.name)
      await undo()
      await owner.query('RESET session_replication_role')
    }
    report('A6', 'changes of the audit by somebody with every right', { trials: 100, kinds: TAMPERINGS.length, found: found.length })
    expect(found).toHaveLength(100)
    expect((await verify()).faults).toEqual([])
  }, 120_000)

  it('made anew as a whole fits itself, and not what was written down before', async () => {
    const { head } = await verify(theirs)
    await owner.query(`SET session_replication_role = 'replica'`)
    await owner.query(`UPDATE audit_entry SET actor = 'somebody else' WHERE organisation_id = $1`, [theirs])
    await owner.query('DELETE FROM audit_link WHERE organisation_id = $1', [theirs])
    await owner.query('DELETE FROM audit_head WHERE organisation_id = $1', [theirs])
    await owner.query('BEGIN')
    await owner.query(`SELECT set_config('app.organisation_id', $1, true)`, [theirs])
    await owner.query('SELECT audit_append(e) FROM (SELECT * FROM audit_entry WHERE organisation_id = $1 ORDER BY at, id) e', [theirs])
    await owner.query('COMMIT')
    await owner.query('RESET session_replication_role')
    expect((await verify(theirs)).faults).toEqual([])
    const held = await database.withOrganisationSql(theirs, (scope) => verifyAudit(scope, [head!]))
    expect(held.faults.map(({ why }) => why)).toEqual(['it is another link than the one written down earlier'])
  })
})

describe('a person’s data taken out of it', () => {
  it('leaves the chain whole, and what is taken out cannot be put in otherwise', async () => {
    const person = newId()
    await write(ours, 3, { person_id: person, actor: 'Lena Sorglos' })
    await write(ours, 2, { subject_kind: 'person', subject_id: person, after: { name: 'Lena Sorglos', email: 'lena@example.org' } })
    await database.withOrganisationSql(ours, async (scope) => {
      const by = newId()
      const rows = await scope.rows<{ id: string; hash: string }>('SELECT entry_id AS id, content_hash AS hash FROM audit_redact($1, $2)', [
        person,
        by,
      ])
      expect(rows).toHaveLength(5)
      await scope.run(
        `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind, subject_id, after) VALUES ($1, $2, $3, 'Mara', 'anonymise', 'person', $4, $5)`,
        [ours, by, new Date(AT), person, JSON.stringify({ redacted: Object.fromEntries(rows.map(({ id, hash }) => [id, hash])) })],
      )
    })
    expect(await verify()).toMatchObject({ entries: 406, redacted: 5, faults: [] })
    const { rows } = await owner.query(`SELECT count(*)::int AS n FROM audit_entry e WHERE to_jsonb(e)::text ~ 'Sorglos|lena@'`)
    expect(rows[0].n).toBe(0)
    await owner.query(`UPDATE audit_entry SET actor = 'Otto' WHERE redacted_by IS NOT NULL AND person_id = $1`, [person])
    expect((await verify()).faults.map(({ why }) => why)).toEqual(Array(3).fill('it was changed after it was anonymised'))
  })

  it('by itself, without an entry that tells of it, is not kept', async () => {
    const person = newId()
    await write(ours, 1, { person_id: person })
    const attempt = database.withOrganisationSql(ours, (scope) => scope.rows('SELECT * FROM audit_redact($1, $2)', [person, newId()]))
    await expect(attempt).rejects.toMatchObject({ code: '23503' })
  })
})
