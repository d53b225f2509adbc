/** The worker's own send path and the test support, as built; a bench measures what runs in production. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { createMailer, type Mailer } from '@tapewarden/messaging'
import type { Database } from '@tapewarden/persistence'

const root = join(import.meta.dirname, '../../..')

export function imported<Module>(path: string): Promise<Module> {
  return import(pathToFileURL(join(root, path)).href) as Promise<Module>
}

/** A sink in a process of its own, so that its work is not counted as ours. */
export async function startSink(): Promise<{ url: string; stop(): void }> {
  const built = spawnSync(process.execPath, ['node_modules/typescript7/bin/tsc', '-p', 'tests/faults/tsconfig.json'], { cwd: root })
  if (built.status !== 0) throw new Error(String(built.stdout))
  const code = `import(${JSON.stringify(pathToFileURL(join(root, 'tests/faults/dist/support/smtp-sink.js')).href)}).then(async ({ startSmtpSink }) => { const sink = await startSmtpSink(); setInterval(() => { sink.taken.length = 0 }, 50); console.log(sink.url) })`
  const child: ChildProcess = spawn(process.execPath, ['--input-type=module', '-e', code], { stdio: ['ignore', 'pipe', 'inherit'] })
  const url = await new Promise<string>((done, fail) => {
    child.once('exit', () => fail(new Error('The sink ended.')))
    child.stdout?.once('data', (text: Buffer) => done(text.toString().trim()))
  })
  return { url, stop: () => void child.kill() }
}

export interface BenchOrganisation {
  organisationId: string
  warehouseId: string
}

export interface SendParts {
  database: Database
  clock: { now(): Promise<Date> }
  queue: { enqueue(): Promise<void>; enqueueAll(): Promise<void> }
  mailer: Mailer
  settings: Record<string, unknown>
  crash: () => void
}

export function partsFor(database: Database, smtpUrl: string, now: Date, connections = 5): SendParts {
  return {
    database,
    clock: { now: async () => now },
    queue: { enqueue: async () => undefined, enqueueAll: async () => undefined },
    mailer: createMailer({ smtpUrl, most: connections }),
    settings: {
      SEND_LEASE_SECONDS: 180,
      SEND_CONCURRENCY: 16,
      SECRET_KEY: 'bench-bench-bench-bench-bench-bench',
      PUBLIC_URL: 'https://care.example',
      MAIL_FROM: 'care@care.example',
    },
    crash: () => undefined,
  }
}

/** Works through a list with so many at once. */
export async function atOnce<Item>(items: readonly Item[], most: number, work: (item: Item) => Promise<unknown>): Promise<void> {
  let next = 0
  const one = async () => {
    while (next < items.length) await work(items[next++] as Item)
  }
  await Promise.all(Array.from({ length: most }, one))
}

export async function elapsedMs(work: () => Promise<unknown>): Promise<number> {
  const began = performance.now()
  await work()
  return performance.now() - began
}
