/** A database of its own with every migration applied and no rows: a copy of the template that the harness made. */
import { randomBytes } from 'node:crypto'
import { Client } from 'pg'

export interface FreshDatabase {
  /** The address that api and worker use. */
  url: string
  drop(): Promise<void>
}

function setting(name: string): string {
  const value = process.env[name]
  if (!value) throw new Error(`${name} is not set: start this with npm run faults.`)
  return value
}

async function asOwner(statements: readonly string[]): Promise<void> {
  const client = new Client({ connectionString: setting('FAULTS_OWNER_URL') })
  await client.connect()
  try {
    for (const statement of statements) await client.query(statement)
  } finally {
    await client.end()
  }
}

export async function freshDatabase(): Promise<FreshDatabase> {
  const name = `faults_${process.pid}_${randomBytes(4).toString('hex')}`
  await asOwner([
    `CREATE DATABASE ${name} TEMPLATE ${setting('FAULTS_TEMPLATE')}`,
    `GRANT CONNECT, TEMPORARY, CREATE ON DATABASE ${name} TO tapewarden_app`,
  ])
  const url = new URL(setting('FAULTS_OWNER_URL'))
  url.pathname = `/${name}`
  url.username = 'tapewarden_app'
  url.password = setting('FAULTS_APP_PASSWORD')
  return { url: url.href, drop: () => asOwner([`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`]) }
}
