/** The two places where jobs may lie, behind one small interface. Nothing else of ours knows which it is. */
import { createPostgresBackend, Queue, withBackend, Worker } from 'bullmq'
import { Redis } from 'ioredis'

export interface StoredJob {
  name: string
  data: unknown
  options: JobOptions
}

export interface JobOptions {
  jobId?: string
  delay?: number
  attempts?: number
  backoff?: { type: 'exponential'; delay: number }
  removeOnComplete?: boolean
  removeOnFail?: boolean
  deduplication?: { id: string; keepLastIfActive?: boolean }
}

export type JobStates = 'waiting' | 'active' | 'delayed' | 'failed'

/** The part of the library's queue that we use. */
export interface BackendQueue {
  addAll(jobs: readonly StoredJob[]): Promise<void>
  counts(): Promise<Record<JobStates, number>>
  waitUntilReady(): Promise<void>
  /** Throws every job away; for tests and for rebuilding. */
  empty(): Promise<void>
  close(): Promise<void>
}

export interface BackendWorker {
  close(force?: boolean): Promise<void>
  waitUntilReady(): Promise<void>
}

export interface TakenJob {
  id?: string | undefined
  name: string
  data: unknown
  attemptsMade: number
}

export interface WorkerSettings {
  concurrency: number
  lockMs: number
  onError: (error: Error) => void
}

export interface Backend {
  kind: 'redis' | 'postgres'
  queue(name: string, onError: (error: Error) => void): BackendQueue
  worker(name: string, work: (job: TakenJob) => Promise<unknown>, settings: WorkerSettings): BackendWorker
  close(): Promise<void>
}

/** The library's queue and worker of either backend, as far as both agree. */
interface AnyQueue {
  addBulk(jobs: { name: string; data: unknown; opts?: JobOptions }[]): Promise<unknown>
  getJobCounts(...types: string[]): Promise<Record<string, number>>
  waitUntilReady(): Promise<unknown>
  obliterate(options: { force: boolean }): Promise<void>
  close(): Promise<void>
  on(event: 'error', listener: (error: Error) => void): unknown
}

function wrapQueue(queue: AnyQueue, onError: (error: Error) => void): BackendQueue {
  queue.on('error', onError)
  return {
    addAll: async (jobs) => void (await queue.addBulk(jobs.map(({ name, data, options }) => ({ name, data, opts: options })))),
    counts: async () => {
      const found = await queue.getJobCounts('waiting', 'active', 'delayed', 'failed')
      return { waiting: found.waiting ?? 0, active: found.active ?? 0, delayed: found.delayed ?? 0, failed: found.failed ?? 0 }
    },
    waitUntilReady: async () => void (await queue.waitUntilReady()),
    empty: () => queue.obliterate({ force: true }),
    close: () => queue.close(),
  }
}

/**
 * A dead worker's job is taken up again after its lock and one stalled check; many such deaths are allowed,
 * because beyond maxStalledCount the library fails a job for good, and ours are safe to repeat.
 */
function workerOptions({ concurrency, lockMs }: WorkerSettings) {
  return { concurrency, lockDuration: lockMs, stalledInterval: lockMs, maxStalledCount: 1000, drainDelay: 5 }
}

const PREFIX = 'tapewarden'

function redisBackend(url: string): Backend {
  // Commands given while Redis is away fail at once in `queue` (the sweep brings them back) and wait in workers.
  const producer = new Redis(url, { maxRetriesPerRequest: null, enableOfflineQueue: false, lazyConnect: true })
  const consumer = new Redis(url, { maxRetriesPerRequest: null, lazyConnect: true })
  const ignored = () => undefined
  producer.on('error', ignored)
  consumer.on('error', ignored)
  return {
    kind: 'redis',
    queue: (name, onError) => wrapQueue(new Queue(name, { connection: producer, prefix: PREFIX }), onError),
    worker: (name, work, settings) => {
      const worker = new Worker(name, work, { connection: consumer, prefix: PREFIX, ...workerOptions(settings) })
      worker.on('error', settings.onError)
      return { close: (force) => worker.close(force), waitUntilReady: async () => worker.waitUntilReady() }
    },
    close: async () => {
      producer.disconnect()
      consumer.disconnect()
    },
  }
}

const Postgres = withBackend(createPostgresBackend)
const SCHEMA = 'bullmq'

function postgresBackend(url: string): Backend {
  const connection = (applicationName: string, most: number) => ({
    connectionString: url,
    schema: SCHEMA,
    migrate: true,
    application_name: applicationName,
    max: most,
  })
  return {
    kind: 'postgres',
    queue: (name, onError) => wrapQueue(new Postgres.Queue(name, { connection: connection(`queue ${name}`, 2) }), onError),
    worker: (name, work, settings) => {
      const worker = new Postgres.Worker(name, work, { connection: connection(`worker ${name}`, 4), ...workerOptions(settings) })
      worker.on('error', settings.onError)
      return { close: (force) => worker.close(force), waitUntilReady: async () => worker.waitUntilReady() }
    },
    close: async () => undefined,
  }
}

/** @param url redis://, rediss:// or postgres:// */
export function openBackend(url: string): Backend {
  return /^rediss?:/.test(url) ? redisBackend(url) : postgresBackend(url)
}
