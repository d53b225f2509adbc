/** P8 of speed.md: a job through our table, payload check and consumers, against the same library bare. */
import { createPostgresBackend, Queue, withBackend, Worker } from 'bullmq'
import { Redis } from 'ioredis'
import { type AnyHandler, Consumers, JOB_NAMES, JobQueue } from '@tapewarden/queues'
import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { type BenchResult, summarise } from './result.js'
import { elapsedMs } from './support-mail.js'
import { startBenchServer } from './support-server.js'

const REPETITIONS = 5
const AT_ONCE = 8
const ID = '01a21401-639f-74d9-af70-24f6e7613671'

const Postgres = withBackend(createPostgresBackend)

interface BareQueue {
  addBulk(jobs: { name: string; data: unknown; opts: object }[]): Promise<unknown>
  close(): Promise<void>
}

/** Time from the first add to the last job's end. */
function drained(count: number, add: () => Promise<unknown>, onEnd: (ended: () => void) => void): Promise<number> {
  return elapsedMs(async () => {
    let left = count
    const all = new Promise<void>((done) => onEnd(() => --left === 0 && done()))
    await add()
    await all
  })
}

async function bare(url: string, count: number): Promise<number> {
  let ended: () => void = () => undefined
  const work = async () => void setImmediate(() => ended())
  const redis = url.startsWith('redis')
  const connection = redis ? new Redis(url, { maxRetriesPerRequest: null }) : null
  const pg = { connectionString: url, schema: 'bullmq', migrate: true, max: 4 }
  const queue = (connection ? new Queue('bare', { connection }) : new Postgres.Queue('bare', { connection: pg })) as unknown as BareQueue
  const worker = connection
    ? new Worker('bare', work, { connection, concurrency: AT_ONCE })
    : new Postgres.Worker('bare', work, { connection: pg, concurrency: AT_ONCE })
  await worker.waitUntilReady()
  const jobs = Array.from({ length: count }, (_, index) => ({
    name: 'x',
    data: { v: 1, organisationId: ID, messageId: ID },
    opts: { jobId: `x-${Date.now()}-${index}`, attempts: 2, removeOnComplete: true, removeOnFail: true },
  }))
  const ms = await drained(
    count,
    () => queue.addBulk(jobs),
    (done) => (ended = done),
  )
  await worker.close()
  await queue.close()
  connection?.disconnect()
  return ms
}

async function ours(url: string, count: number): Promise<number> {
  let ended: () => void = () => undefined
  const queue = JobQueue.open(url, () => undefined)
  await queue.waitUntilReady()
  const handlers = JOB_NAMES.map((name) => ({ name, handle: async () => 'done' })) as unknown as AnyHandler[]
  const consumers = Consumers.start(queue.backend, handlers, {
    concurrency: { planning: 1, composing: 1, sending: AT_ONCE, telling: 1 },
    lockMs: 30_000,
    onError: () => undefined,
    onEnd: () => void setImmediate(() => ended()),
    onFailure: () => undefined,
  })
  await consumers.waitUntilReady()
  const jobs = Array.from({ length: count }, (_, index) => ({
    name: 'send_message' as const,
    input: { organisationId: ID, messageId: ID },
    options: { key: `${Date.now()}-${index}` },
  }))
  const ms = await drained(
    count,
    () => queue.enqueueAll(jobs),
    (done) => (ended = done),
  )
  await consumers.close()
  await queue.close()
  return ms
}

async function measure(name: string, url: string, count: number): Promise<BenchResult> {
  const ratios: number[] = []
  const perJob: number[] = []
  for (let round = 0; round <= REPETITIONS; round++) {
    const [floor, mine] = round % 2 ? [await bare(url, count), await ours(url, count)] : [0, 0]
    const [second, first] = round % 2 ? [0, 0] : [await ours(url, count), await bare(url, count)]
    const ratio = round % 2 ? mine / floor : second / first
    if (round === 0) continue
    ratios.push(ratio)
    perJob.push((mine + second) / count)
  }
  perJob.sort((a, b) => a - b)
  return summarise(
    `P8 a job on ${name}, against the library bare`,
    ratios,
    1.3,
    `${(perJob[Math.floor(perJob.length / 2)] ?? 0).toFixed(3)} ms a job; ${count} trivial jobs, ${AT_ONCE} at once`,
  )
}

async function startRedis(port: number): Promise<ChildProcess> {
  const child = spawn('redis-server', ['--port', String(port), '--save', '', '--appendonly', 'no'], { stdio: ['ignore', 'pipe', 'ignore'] })
  await new Promise<void>((done) => child.stdout?.on('data', (text: Buffer) => text.includes('Ready to accept') && done()))
  return child
}

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const results = [await measure('PostgreSQL', server.appUrl, 1000)]
  await server.stop()
  if (spawnSync('sh', ['-c', 'command -v redis-server']).status !== 0) {
    console.error('SKIPPED on Redis: there is no redis-server on the PATH.')
    return results
  }
  const redis = await startRedis(58_379)
  results.push(await measure('Redis', 'redis://127.0.0.1:58379', 5000))
  redis.kill()
  return results
}
