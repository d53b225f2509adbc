// Once for all database tests: one server, one template with every migration applied. Each test file copies the template.
import { spawnSync } from 'node:child_process'
import { randomBytes } from 'node:crypto'
import { chmodSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import pg from 'pg'
import { startPostgres } from '../../tools/embedded-postgres.mjs'

const root = resolve(import.meta.dirname, '../..')
const CLI = join(root, 'libs/persistence/dist/migrate/cli.js')
const PREFIX = 'tapewarden-test-'

/** Folders of runs that were killed; the process id stands in the name. */
function sweepOldFolders() {
  for (const name of readdirSync(tmpdir()).filter((entry) => entry.startsWith(PREFIX))) {
    const pid = Number(name.slice(PREFIX.length).split('-')[0])
    if (pid > 0 && !existsSync(`/proc/${pid}`)) rmSync(join(tmpdir(), name), { recursive: true, force: true })
  }
}

async function findServer() {
  if (process.env.TEST_DATABASE_URL) return { url: process.env.TEST_DATABASE_URL, stop: async () => {} }
  sweepOldFolders()
  const folder = mkdtempSync(join(tmpdir(), `${PREFIX}${process.pid}-`))
  chmodSync(folder, 0o755)
  const server = await startPostgres({ dataDir: join(folder, 'data'), port: 56_000 + Math.floor(Math.random() * 4000), forTests: true })
  const stop = async () => {
    await server.stop()
    rmSync(folder, { recursive: true, force: true })
  }
  return { url: server.url, stop }
}

async function asAdmin(url, work) {
  const client = new pg.Client({ connectionString: url })
  await client.connect()
  try {
    return await work(client)
  } finally {
    await client.end()
  }
}

function migrateTemplate(url, appPassword) {
  // Other packages may be in the middle of a change; the migration itself reads none of them.
  const build = spawnSync(process.execPath, [join(root, 'node_modules/typescript7/bin/tsc'), '-b', 'libs/persistence'], {
    cwd: root,
    encoding: 'utf8',
  })
  if (!existsSync(CLI)) throw new Error(`The migrations could not be built:\n${build.stdout}`)
  const env = { ...process.env, NODE_OPTIONS: '', DATABASE_OWNER_URL: url, DATABASE_APP_PASSWORD: appPassword }
  const { status, stderr } = spawnSync(process.execPath, [CLI], { cwd: root, env, encoding: 'utf8' })
  if (status !== 0) throw new Error(stderr)
}

export default async function setup() {
  const server = await findServer()
  try {
    const template = `tapewarden_template_${process.pid}_${randomBytes(3).toString('hex')}`
    // Roles belong to the whole server, so runs that share one share this password, too.
    const appPassword = 'only-for-tests-7Qm2'
    await asAdmin(server.url, (client) => client.query(`CREATE DATABASE ${template}`))
    const templateUrl = new URL(server.url)
    templateUrl.pathname = `/${template}`
    migrateTemplate(templateUrl.href, appPassword)
    await asAdmin(server.url, (client) => client.query(`ALTER DATABASE ${template} WITH IS_TEMPLATE true ALLOW_CONNECTIONS false`))
    process.env.TAPEWARDEN_TEST_SERVER = server.url
    process.env.TAPEWARDEN_TEST_TEMPLATE = template
    process.env.TAPEWARDEN_TEST_APP_PASSWORD = appPassword
    globalThis.tapewardenTestServer = { server, template, asAdmin }
  } catch (error) {
    await server.stop()
    throw error
  }
}
