/** An organisation out of one installation into another: every table compared; a changed file refused. */
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { createHash } from 'node:crypto'
import { createWriteStream, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { Client } from 'pg'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { verifyAudit } from '../audit/verify.js'
import { Database } from '../database.js'
import { insertAllRows } from '../insert-rows.js'
import { PgScope } from '../pg-scope.js'
import { BLANKED, LEFT_OUT } from './tables.js'
import { takeOrganisation } from './take.js'
import { organisationLines, writeOrganisation } from './write.js'

jest.setTimeout(120_000)
const AT = new Date('2026-03-02T08:00:00Z')
const [ours, theirs] = [smallOrganisation('a'), smallOrganisation('b')]
const folder = mkdtempSync(join(tmpdir(), 'organisation file '))
const path = join(folder, 'ours.gz')
let from: { test: TestDatabase; database: Database; owner: Client }
let to: { test: TestDatabase; database: Database; owner: Client }

async function open() {
  const test = await createTestDatabase()
  const owner = new Client({ connectionString: test.ownerUrl })
  await owner.connect()
  return { test, owner, database: await Database.open({ url: test.appUrl, applicationName: 'test', most: 3 }) }
}
async function shut({ test, database, owner }: typeof from): Promise<void> {
  await Promise.all([owner.end(), database.close()])
  await test.drop()
}

beforeAll(async () => {
  from = await open()
  for (const one of [ours, theirs]) await from.database.withOrganisationSql(one.organisationId, (scope) => insertAllRows(scope, one.rows))
  // What a number, a text and a moment may be at their worst.
  await from.owner.query(
    `UPDATE person SET name = E'Zoë \\\\ "x"\\n\\t\\U0001F9F0', created_at = '2026-02-03 04:05:06.789012+00' WHERE id = $1`,
    [ours.ids.manager],
  )
  await from.owner.query(
    `UPDATE warehouse SET technician_hours_a_week = 0.1 + 0.2, labour_cost_per_hour = 12.50, evidence_version = 9007199254740993 WHERE id = $1`,
    [ours.ids.warehouse],
  )
  await from.database.withOrganisationSql(ours.organisationId, (scope) =>
    scope.run(
      `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind, after)
       SELECT $1, gen_random_uuid(), clock_timestamp(), 'Mara', 'change', 'thing', jsonb_build_object('n', n, 'price', 1.1) FROM generate_series(1, 2500) n`,
      [ours.organisationId],
    ),
  )
  await writeOrganisation(from.database, ours.organisationId, AT, createWriteStream(path))
})
afterAll(async () => {
  await shut(from)
  rmSync(folder, { recursive: true })
})
beforeAll(async () => {
  to = await open()
})
afterAll(() => shut(to))
/** Where the organisation is in already. */
async function elsewhere<Answer>(work: (other: typeof to) => Promise<Answer>): Promise<Answer> {
  const other = await open()
  try {
    return await work(other)
  } finally {
    await shut(other)
  }
}

/** Digest of all rows of a table, and how many: made by the database, from the text of each row. */
async function digestOf(owner: Client, name: string, key: string, blanked: readonly string[]): Promise<{ n: number; digest: string }> {
  const { rows } = await owner.query(
    `SELECT count(*)::int AS n, md5(string_agg(row::text, E'\\n' ORDER BY row::text)) AS digest
     FROM (SELECT to_jsonb(t) - $2::text[] AS row FROM "${name}" t WHERE "${key}" = $1) r`,
    [ours.organisationId, blanked],
  )
  return rows[0]
}

it('holds nothing of another organisation and no secret; where the two guards name different ones it holds no row', async () => {
  const text = gunzipSync(readFileSync(path)).toString()
  for (const id of [theirs.organisationId, ...Object.values(theirs.ids)]) expect(text).not.toContain(id)
  for (const word of ['password_hash', 'token_hash', 'secret_hash', 'sealed_secret', 'code_hash']) expect(text).not.toContain(word)
  const lines: string[] = []
  await from.database.withOrganisationSql(ours.organisationId, async (scope) => {
    for await (const piece of organisationLines(new PgScope(theirs.organisationId, scope.client), AT)) lines.push(piece)
  })
  expect(
    lines
      .join('')
      .split('\n')
      .filter((line) => line !== '' && !line.startsWith('#')),
  ).toEqual([])
})

describe('a file that was', () => {
  const changed = join(folder, 'changed.gz')
  const whole = (): string => gunzipSync(readFileSync(path)).toString()
  /** With a checksum that fits again, as somebody would who knows how. */
  const signedAnew = (text: string): string => {
    const lines = text.trimEnd().split('\n')
    const end = JSON.parse(lines.pop()!.slice(1))
    const body = `${lines.join('\n')}\n`
    return `${body}#${JSON.stringify({ ...end, sha256: createHash('sha256').update(body).digest('hex') })}\n`
  }
  const cases: [string, () => Buffer, string][] = [
    [
      'changed in one digit',
      () => gzipSync(whole().replace('"price": 1.1', '"price": 1.2').replace('"price":1.1', '"price":1.2')),
      'checksum differs',
    ],
    ['robbed of a row', () => gzipSync(whole().replace(/\n\{[^\n]*\n/, '\n')), 'checksum differs'],
    ['cut', () => readFileSync(path).subarray(0, 5000), 'cut or damaged'],
    ['robbed of its end', () => gzipSync(whole().replace(/#\{"end"[^\n]*\n$/, '')), 'its end is missing'],
    ['added to', () => gzipSync(`${whole()}#{"table":"person","columns":[]}\n`), 'follows its end'],
    ['never ours', () => gzipSync('hello\n'), 'no file of an organisation'],
    ['not packed', () => Buffer.from('hello'), 'cut or damaged'],
    [
      'changed in its history, with a checksum made anew',
      () => gzipSync(signedAnew(whole().replace('"actor":"Mara"', '"actor":"Otto"'))),
      'history in this file does not hold',
    ],
    [
      'given a table of its own',
      () => gzipSync(signedAnew(whole().replace('#{"table":"part_use"', '#{"table":"pg_authid"'))),
      'does not: bring it to',
    ],
    [
      'given ways of signing in',
      () =>
        gzipSync(signedAnew(whole().replace('#{"table":"person","columns":["id"', '#{"table":"person","columns":["password_hash","id"'))),
      'person.password_hash',
    ],
  ]
  it.each(cases)('%s is refused, and nothing of it stays', async (_what, make, words) => {
    writeFileSync(changed, make())
    await expect(takeOrganisation(to.database, changed, 'the test')).rejects.toThrow(words)
    expect((await to.owner.query('SELECT 1 FROM organisation')).rowCount).toBe(0)
    expect((await to.owner.query('SELECT 1 FROM audit_link')).rowCount).toBe(0)
  })
})

it('is equal in every table but ways of signing in, and its history goes on', async () => {
  const taken = await takeOrganisation(to.database, path, 'the test')
  expect(taken).toMatchObject({ organisationId: ours.organisationId, madeAt: AT.toISOString() })
  const { rows: tables } = await from.owner.query(
    `SELECT relname::text AS name FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') ORDER BY 1`,
  )
  let compared = 0
  for (const { name } of tables) {
    const key = name === 'organisation' ? 'id' : 'organisation_id'
    const blanked = [...(BLANKED[name] ?? []), ...(name === 'message' ? ['state', 'last_error', 'lease_until'] : [])]
    const [there, here] = [await digestOf(from.owner, name, key, blanked), await digestOf(to.owner, name, key, blanked)]
    expect([name, there.n > 0]).toEqual([name, true])
    if (LEFT_OUT[name] !== undefined) {
      expect([name, here.n]).toEqual([name, 0])
      continue
    }
    compared += 1
    // The entry that says that it was taken over is the one that is new.
    if (name.startsWith('audit_')) expect([name, here.n - there.n]).toEqual([name, name === 'audit_head' ? 0 : 1])
    else expect([name, here]).toEqual([name, there])
  }
  expect(compared).toBeGreaterThan(35)
  const { rows } = await from.owner.query('SELECT max(sequence)::int AS last FROM audit_link WHERE organisation_id = $1', [
    ours.organisationId,
  ])
  const kept = `SELECT md5(string_agg(l::text || e::text, '' ORDER BY sequence)) AS digest FROM audit_link l JOIN audit_entry e ON e.id = l.entry_id WHERE l.organisation_id = $1 AND sequence <= $2`
  const [there, here] = await Promise.all([from, to].map(({ owner }) => owner.query(kept, [ours.organisationId, rows[0].last])))
  expect(here!.rows).toEqual(there!.rows)
  const report = await to.database.withOrganisationSql(ours.organisationId, (scope) => verifyAudit(scope))
  expect(report).toMatchObject({ entries: rows[0].last + 1, faults: [] })
})

it('calls mails uncertain that were waiting, so that none goes out twice', async () => {
  const { rows } = await to.owner.query(`SELECT DISTINCT state FROM message WHERE organisation_id = $1 ORDER BY 1`, [ours.organisationId])
  expect(rows.map(({ state }) => state).filter((state: string) => ['pending', 'claimed', 'handing_over'].includes(state))).toEqual([])
})

it('is taken once: nothing is merged into what is here', async () => {
  await expect(takeOrganisation(to.database, path, 'the test')).rejects.toThrow('is here already')
})

it('is refused whole where a mail address is taken here', () =>
  elsewhere(async (to) => {
    const other = smallOrganisation('c')
    await to.database.withOrganisationSql(other.organisationId, (scope) => insertAllRows(scope, other.rows))
    const { rows } = await from.owner.query('SELECT email FROM person WHERE organisation_id = $1 AND email IS NOT NULL LIMIT 1', [
      ours.organisationId,
    ])
    await to.owner.query('UPDATE person SET email = $1 WHERE id = $2', [rows[0].email.toUpperCase(), other.ids.manager])
    await expect(takeOrganisation(to.database, path, 'the test')).rejects.toThrow('has the mail address')
    expect((await to.owner.query('SELECT 1 FROM organisation WHERE id = $1', [ours.organisationId])).rowCount).toBe(0)
  }))
