/** Migrations, prisma/schema and a living database say the same; each comparison is shown to see a planted difference. */
import { spawnSync } from 'node:child_process'
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { compareCatalogues, migrate, readCatalogue, readMigrationFiles } from '@tapewarden/persistence'
import { Client } from 'pg'
import { createEmptyDatabase, createTestDatabase, type TestDatabase } from '../support/database.js'

const root = resolve(import.meta.dirname, '../..')
const files = readMigrationFiles(join(root, 'prisma/migrations'))
// A busy machine takes ten times as long.
jest.setTimeout(120_000)

let live: TestDatabase
let shadow: TestDatabase
let liveClient: Client
let shadowClient: Client
let wanted: string[]

beforeAll(async () => {
  ;[live, shadow] = await Promise.all([createTestDatabase(), createEmptyDatabase()])
  liveClient = new Client({ connectionString: live.ownerUrl })
  shadowClient = new Client({ connectionString: shadow.ownerUrl })
  await Promise.all([liveClient.connect(), shadowClient.connect()])
  await migrate(shadowClient, files)
  wanted = await readCatalogue(shadowClient)
})
afterAll(async () => {
  await Promise.all([liveClient.end(), shadowClient.end()])
  await Promise.all([live.drop(), shadow.drop()])
})

function prismaDiff(url: string, schemaFolder?: string): string {
  const words = [join(root, 'tests/support/prisma-diff.mjs'), url, ...(schemaFolder ? [schemaFolder] : [])]
  const { status, stdout, stderr } = spawnSync(process.execPath, words, { encoding: 'utf8', env: { ...process.env, NODE_OPTIONS: '' } })
  if (status !== 0) throw new Error(stderr)
  return stdout
}

/** Does something to the live database, looks, and undoes it. */
async function planted<Seen>(statement: string, look: () => Promise<Seen>): Promise<Seen> {
  await liveClient.query('BEGIN')
  await liveClient.query(statement)
  try {
    return await look()
  } finally {
    await liveClient.query('ROLLBACK')
  }
}

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

describe('prisma/schema', () => {
  it('says what the migrations make', () => {
    expect(prismaDiff(shadow.ownerUrl)).toBe('')
  })

  it('is caught when a column stands in the database only', async () => {
    await liveClient.query('ALTER TABLE machine ADD COLUMN planted integer')
    expect(prismaDiff(live.ownerUrl)).toContain('DROP COLUMN "planted"')
    await liveClient.query('ALTER TABLE machine DROP COLUMN planted')
  })

  it('is caught when a field stands in the schema only, or a type differs', () => {
    const folder = mkdtempSync(join(tmpdir(), 'tapewarden-drift-'))
    cpSync(join(root, 'prisma/schema'), folder, { recursive: true })
    const path = join(folder, 'machines.prisma')
    const text = readFileSync(path, 'utf8')
    writeFileSync(
      path,
      text
        .replace('model Machine {\n', 'model Machine {\n  planted Int?\n')
        .replace(/(model Situation \{[^}]*note\s+)String(\s+)@default\(""\)/, '$1Int$2@default(0)'),
    )
    const diff = prismaDiff(shadow.ownerUrl, folder)
    rmSync(folder, { recursive: true, force: true })
    expect(diff).toContain('ADD COLUMN     "planted" INTEGER')
    expect(diff).toMatch(/ALTER TABLE "situation"[^;]*"note"/)
  })
})

describe('a living database', () => {
  it('is what the migrations make', async () => {
    expect(compareCatalogues(wanted, await readCatalogue(liveClient))).toEqual({ missing: [], unexpected: [] })
    expect(wanted.length).toBeGreaterThan(700)
  })

  it.each([
    ['a dropped policy', 'DROP POLICY own_organisation ON machine', 'policy machine.own_organisation'],
    ['a policy that lets all through', 'ALTER POLICY own_organisation ON machine USING (true)', 'policy machine.own_organisation'],
    ['row security no longer forced', 'ALTER TABLE machine NO FORCE ROW LEVEL SECURITY', 'table machine'],
    ['a check dropped', 'ALTER TABLE machine DROP CONSTRAINT machine_status_check', 'constraint machine.machine_status_check'],
    ['an index dropped', 'DROP INDEX occurrence_open_key', 'occurrence_open_key'],
    ['a grant taken', 'REVOKE SELECT ON machine FROM tapewarden_app', 'grant SELECT on machine'],
    ['a column’s default', `ALTER TABLE machine ALTER COLUMN note SET DEFAULT 'x'`, 'column machine.note'],
    ['a function’s owner', 'ALTER FUNCTION directory_organisations() OWNER TO CURRENT_USER', 'function directory_organisations'],
  ])('shows %s', async (_name, statement, line) => {
    const drift = await planted(statement, async () => compareCatalogues(wanted, await readCatalogue(liveClient)))
    expect(drift.missing.filter((missing) => missing.includes(line))).toHaveLength(1)
  })

  it('shows a right given too much', async () => {
    const drift = await planted('GRANT UPDATE ON audit_entry TO tapewarden_app', async () =>
      compareCatalogues(wanted, await readCatalogue(liveClient)),
    )
    expect(drift).toEqual({ missing: [], unexpected: ['grant UPDATE on audit_entry to tapewarden_app'] })
  })
})
