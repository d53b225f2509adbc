/** A database of its own for a test file: a copy of the migrated template, gone afterwards. */
import { randomBytes } from 'node:crypto'
import { Client } from 'pg'

export interface TestDatabase {
  /** The owner's address: a superuser, for looking behind the guard. */
  ownerUrl: string
  /** The address that api and worker use: tapewarden_app, under row-level security. */
  appUrl: string
  drop(): Promise<void>
}

function setting(name: string): string {
  const value = process.env[name]
  if (!value) throw new Error(`${name} is not set: run this with 'jest --selectProjects database'.`)
  return value
}

async function asAdmin(statements: readonly string[], databaseUrl = setting('TAPEWARDEN_TEST_SERVER')): Promise<void> {
  const client = new Client({ connectionString: databaseUrl })
  await client.connect()
  try {
    for (const statement of statements) await client.query(statement)
  } finally {
    await client.end()
  }
}

export async function createTestDatabase(): Promise<TestDatabase> {
  const name = `test_${process.pid}_${randomBytes(5).toString('hex')}`
  await asAdmin([
    `CREATE DATABASE ${name} TEMPLATE ${setting('TAPEWARDEN_TEST_TEMPLATE')}`,
    `GRANT CONNECT, TEMPORARY, CREATE ON DATABASE ${name} TO tapewarden_app`,
  ])
  const owner = new URL(setting('TAPEWARDEN_TEST_SERVER'))
  owner.pathname = `/${name}`
  const app = new URL(owner)
  app.username = 'tapewarden_app'
  app.password = setting('TAPEWARDEN_TEST_APP_PASSWORD')
  return { ownerUrl: owner.href, appUrl: app.href, drop: () => asAdmin([`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`]) }
}

/** An empty database of the test server, without any table. */
export async function createEmptyDatabase(): Promise<TestDatabase> {
  const name = `empty_${process.pid}_${randomBytes(5).toString('hex')}`
  await asAdmin([`CREATE DATABASE ${name}`])
  const owner = new URL(setting('TAPEWARDEN_TEST_SERVER'))
  owner.pathname = `/${name}`
  return { ownerUrl: owner.href, appUrl: owner.href, drop: () => asAdmin([`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`]) }
}
