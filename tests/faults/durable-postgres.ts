/** A PostgreSQL of the run's own that keeps what it acknowledged, so that it may be killed. */
import { chmodSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { migrate, readMigrationFiles, setAppPassword } from '@tapewarden/persistence'
import { Client } from 'pg'
import { pause, root } from './ground.js'

interface Embedded {
  startPostgres(options: { dataDir: string; port: number }): Promise<{ url: string; port: number; stop(): Promise<void> }>
}

export interface DurablePostgres {
  /** The address that api and worker use. */
  appUrl: string
  /** SIGKILL to the server and all of its processes, as if the power went; returns when they are gone. */
  killAll(): Promise<void>
  /** SIGKILL to one of its processes: the server ends every connection and recovers by itself. */
  killOne(): void
  again(): Promise<void>
  stop(): Promise<void>
}

const PASSWORD = 'only-for-fault-runs-7Qm'

/** Process ids whose parent is the given one, from /proc: the embedded server runs on Linux alone. */
function childrenOf(parent: number): number[] {
  return readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .map(Number)
    .filter((pid) => {
      try {
        return Number(readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ')[1]) === parent
      } catch {
        return false
      }
    })
}

function kill(pid: number): void {
  try {
    process.kill(pid, 'SIGKILL')
  } catch {
    // gone by itself
  }
}

/** '' where it has ended meanwhile. */
function commandLineOf(pid: number): string {
  try {
    return readFileSync(`/proc/${pid}/cmdline`, 'utf8')
  } catch {
    return ''
  }
}

export async function startDurablePostgres(): Promise<DurablePostgres> {
  const folder = mkdtempSync(join(tmpdir(), 'tapewarden-durable-'))
  chmodSync(folder, 0o755)
  const dataDir = join(folder, 'data')
  const { startPostgres } = (await import(pathToFileURL(join(root, 'tools/embedded-postgres.mjs')).href)) as Embedded
  let server = await startPostgres({ dataDir, port: 56_000 })
  const { port } = server
  const owner = new Client({ connectionString: server.url })
  await owner.connect()
  await migrate(owner, readMigrationFiles(join(root, 'prisma/migrations')))
  await setAppPassword(owner, PASSWORD)
  await owner.end()
  const app = new URL(server.url)
  app.username = 'tapewarden_app'
  app.password = PASSWORD
  const serverPid = () => Number(readFileSync(join(dataDir, 'postmaster.pid'), 'utf8').split('\n')[0])
  return {
    appUrl: app.href,
    async killAll() {
      const pid = serverPid()
      const all = [pid, ...childrenOf(pid)]
      for (const one of all) kill(one)
      while (all.some((one) => existsSync(`/proc/${one}/stat`))) await pause(20)
    },
    killOne() {
      // Clients' processes say so in their command line: 'postgres: tapewarden_app …'.
      const clients = childrenOf(serverPid()).filter((pid) => commandLineOf(pid).includes('tapewarden_app'))
      const one = clients[Math.floor(Math.random() * clients.length)]
      if (one === undefined) throw new Error('No process of the server serves a client of ours.')
      kill(one)
    },
    async again() {
      server = await startPostgres({ dataDir, port })
      if (server.port !== port) throw new Error(`The server came back on port ${server.port}, not ${port}.`)
    },
    async stop() {
      await server.stop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
