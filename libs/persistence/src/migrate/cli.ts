// Brings a database up to date. DATABASE_OWNER_URL: the owner's address; DATABASE_APP_PASSWORD: what api and worker sign in with.
import { join } from 'node:path'
import { Client } from 'pg'
import { readMigrationFiles } from './files.js'
import { setAppPassword } from './role.js'
import { migrate } from './runner.js'

/** The same distance from src and from dist. */
const FOLDER = join(import.meta.dirname, '../../../../prisma/migrations')
const OLDEST_SERVER = 150_000

async function run(): Promise<void> {
  const url = process.env.DATABASE_OWNER_URL
  if (!url) throw new Error('DATABASE_OWNER_URL is missing: the address of the role that owns the tables.')
  const client = new Client({ connectionString: url, application_name: 'tapewarden-migrate' })
  await client.connect()
  try {
    const { rows } = await client.query<{ version: string }>(`SELECT current_setting('server_version_num') AS version`)
    if (Number(rows[0]?.version) < OLDEST_SERVER) throw new Error('Tapewarden needs PostgreSQL 15 or later.')
    const applied = await migrate(client, readMigrationFiles(FOLDER))
    if (process.env.DATABASE_APP_PASSWORD) await setAppPassword(client, process.env.DATABASE_APP_PASSWORD)
    console.log(applied.length === 0 ? 'The database is up to date.' : `Applied ${applied.join(', ')}.`)
  } finally {
    await client.end()
  }
}

try {
  await run()
} catch (error) {
  console.error(`The database could not be brought up to date: ${(error as Error).message}`)
  process.exitCode = 1
}
