/** A server of its own for a bench, with durability as in production, and one database with every migration applied. */
import { mkdtempSync, chmodSync, rmSync } from 'node:fs'
import { type AddressInfo, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { Database, migrate, readMigrationFiles, setAppPassword } from '@tapewarden/persistence'
import pg from 'pg'

const root = join(import.meta.dirname, '../../..')

interface Embedded {
  startPostgres(options: { dataDir: string; port: number }): Promise<{ url: string; stop(): Promise<void> }>
}

export interface BenchServer {
  owner: pg.Client
  database: Database
  appUrl: string
  stop(): Promise<void>
}

const PASSWORD = 'only-for-benches-4Kx'

/** Benches of two checkouts may run at once. */
async function freePort(): Promise<number> {
  const server = createServer()
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  const { port } = server.address() as AddressInfo
  await new Promise((done) => server.close(done))
  return port
}

export async function startBenchServer(): Promise<BenchServer> {
  const folder = mkdtempSync(join(tmpdir(), 'tapewarden-bench-'))
  chmodSync(folder, 0o755)
  const { startPostgres } = (await import(pathToFileURL(join(root, 'tools/embedded-postgres.mjs')).href)) as Embedded
  const server = await startPostgres({ dataDir: join(folder, 'data'), port: await freePort() })
  const owner = new pg.Client({ connectionString: server.url })
  await owner.connect()
  await migrate(owner, readMigrationFiles(join(root, 'prisma/migrations')))
  await setAppPassword(owner, PASSWORD)
  const app = new URL(server.url)
  app.username = 'tapewarden_app'
  app.password = PASSWORD
  const database = await Database.open({ url: app.href, applicationName: 'bench' })
  const stop = async () => {
    await database.close()
    await owner.end()
    await server.stop()
    rmSync(folder, { recursive: true, force: true })
  }
  return { owner, database, appUrl: app.href, stop }
}
