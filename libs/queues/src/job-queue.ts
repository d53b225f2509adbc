import { type Backend, type BackendQueue, type JobOptions, type JobStates, openBackend, type StoredJob } from './backend.js'
import { type JobInput, JOBS, type JobName, parsePayload, QUEUE_NAMES, type QueueName } from './jobs.js'

export interface EnqueueOptions {
  /** The same key twice, while the first job is kept, is one job. Letters, digits and '-' only. */
  key?: string
  delayMs?: number
  /** One job waits and one may run; what comes meanwhile is one more run afterwards. */
  debounceKey?: string
}

export interface JobOf<Name extends JobName> {
  name: Name
  input: JobInput<Name>
  options?: EnqueueOptions
}
export type JobToAdd = { [Name in JobName]: JobOf<Name> }[JobName]

/** Ids of the library may hold no ':' and may not be numbers. */
export function jobId(name: JobName, key: string): string {
  return `${name.replaceAll('_', '-')}-${key.replace(/[^0-9A-Za-z-]/g, '-')}`
}

function stored({ name, input, options = {} }: JobToAdd): StoredJob {
  const { attempts, backoffMs } = JOBS[name]
  const jobOptions: JobOptions = {
    attempts,
    backoff: { type: 'exponential', delay: backoffMs },
    removeOnComplete: true,
    removeOnFail: true,
  }
  if (options.key !== undefined) jobOptions.jobId = jobId(name, options.key)
  if (options.delayMs !== undefined) jobOptions.delay = options.delayMs
  if (options.debounceKey !== undefined) jobOptions.deduplication = { id: jobId(name, options.debounceKey), keepLastIfActive: true }
  return { name, data: parsePayload(name, { v: 1, ...input }), options: jobOptions }
}

/** Where jobs are put. A job that could not be put is brought by the sweep: PostgreSQL knows what is to be done. */
export class JobQueue {
  private readonly queues: ReadonlyMap<QueueName, BackendQueue>

  constructor(
    readonly backend: Backend,
    onError: (error: Error) => void,
  ) {
    this.queues = new Map(QUEUE_NAMES.map((name) => [name, backend.queue(name, onError)]))
  }

  static open(url: string, onError: (error: Error) => void): JobQueue {
    return new JobQueue(openBackend(url), onError)
  }

  private queue(name: QueueName): BackendQueue {
    return this.queues.get(name) as BackendQueue
  }

  enqueue<Name extends JobName>(name: Name, input: JobInput<Name>, options?: EnqueueOptions): Promise<void> {
    return this.enqueueAll([{ name, input, ...(options ? { options } : {}) } as JobToAdd])
  }

  async enqueueAll(jobs: readonly JobToAdd[]): Promise<void> {
    for (const name of QUEUE_NAMES) {
      const own = jobs.filter((job) => JOBS[job.name].queue === name).map(stored)
      if (own.length > 0) await this.queue(name).addAll(own)
    }
  }

  async counts(): Promise<Record<QueueName, Record<JobStates, number>>> {
    const found = await Promise.all(QUEUE_NAMES.map(async (name) => [name, await this.queue(name).counts()] as const))
    return Object.fromEntries(found) as Record<QueueName, Record<JobStates, number>>
  }

  async waitUntilReady(): Promise<void> {
    // One after the other: the first brings the queue's own tables up to date.
    for (const queue of this.queues.values()) await queue.waitUntilReady()
  }

  async empty(): Promise<void> {
    for (const queue of this.queues.values()) await queue.empty()
  }

  async close(): Promise<void> {
    await Promise.all([...this.queues.values()].map((queue) => queue.close()))
    await this.backend.close()
  }
}
