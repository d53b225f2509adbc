import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals'
import { Client } from 'pg'
import { createEmptyDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { readMigrationFiles } from './files.js'
import { migrate } from './runner.js'

let test: TestDatabase
let client: Client
let folder: string

beforeEach(async () => {
  test = await createEmptyDatabase()
  client = new Client({ connectionString: test.ownerUrl })
  await client.connect()
  folder = mkdtempSync(join(tmpdir(), 'tapewarden-migrations-'))
  write('0001_first.sql', 'CREATE TABLE first (id int);\n')
})
afterEach(async () => {
  await client.end()
  await test.drop()
  rmSync(folder, { recursive: true, force: true })
})

function write(name: string, text: string): void {
  writeFileSync(join(folder, name), text)
}
const run = (by = client) => migrate(by, readMigrationFiles(folder))
const tables = async () =>
  (await client.query(`SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1`)).rows.map(
    (row: { tablename: string }) => row.tablename,
  )

describe('the migration runner', () => {
  it('applies each file once, in order', async () => {
    write('0002_second.sql', 'ALTER TABLE first ADD COLUMN name text;\n')
    expect(await run()).toEqual(['0001_first.sql', '0002_second.sql'])
    expect(await run()).toEqual([])
  })

  it('lets two at once apply each file once', async () => {
    write('0002_second.sql', 'SELECT pg_sleep(0.3); CREATE TABLE second (id int);\n')
    const other = new Client({ connectionString: test.ownerUrl })
    await other.connect()
    const applied = await Promise.all([run(), run(other)])
    await other.end()
    expect(applied.flat().sort()).toEqual(['0001_first.sql', '0002_second.sql'])
  })

  it('undoes a file that fails as a whole, and names file and line', async () => {
    write('0002_second.sql', 'CREATE TABLE second (id int);\n\nCREATE TABLE third (id intt);\n')
    await expect(run()).rejects.toThrow('0002_second.sql, line 3: type "intt" does not exist')
    expect(await tables()).toEqual(['first'])
    write('0002_second.sql', 'CREATE TABLE second (id int);\n')
    expect(await run()).toEqual(['0002_second.sql'])
  })

  it('refuses an edited, a missing and a late file', async () => {
    write('0003_third.sql', 'CREATE TABLE third (id int);\n')
    await run()
    write('0002_second.sql', 'CREATE TABLE second (id int);\n')
    await expect(run()).rejects.toThrow('0002_second.sql comes before 0003_third.sql, which is applied already')
    rmSync(join(folder, '0002_second.sql'))
    write('0001_first.sql', 'CREATE TABLE first (id bigint);\n')
    await expect(run()).rejects.toThrow('0001_first.sql was edited after it was applied')
    rmSync(join(folder, '0001_first.sql'))
    await expect(run()).rejects.toThrow('0001_first.sql was applied to this database, but the file is missing')
  })

  it('refuses two files of one number and a name without one', () => {
    write('0001_again.sql', '')
    expect(() => readMigrationFiles(folder)).toThrow('have the same number')
    rmSync(join(folder, '0001_again.sql'))
    write('second.sql', '')
    expect(() => readMigrationFiles(folder)).toThrow('a migration is named like')
  })

  it('runs a file without a transaction statement by statement', async () => {
    write(
      '0002_index.sql',
      '-- no-transaction\nCREATE INDEX CONCURRENTLY first_id_idx ON first (id);\nCREATE INDEX CONCURRENTLY other_idx ON first (nothing);\n',
    )
    await expect(run()).rejects.toThrow('0002_index.sql, line 3: column "nothing" does not exist')
    write('0002_index.sql', '-- no-transaction\nCREATE INDEX CONCURRENTLY IF NOT EXISTS first_id_idx ON first (id);\n')
    expect(await run()).toEqual(['0002_index.sql'])
  })
})
