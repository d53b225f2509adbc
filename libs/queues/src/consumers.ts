import type { Backend, BackendWorker, TakenJob } from './backend.js'
import { isJobName, JOB_NAMES, JOBS, type JobName, type JobPayload, parsePayload, QUEUE_NAMES, type QueueName } from './jobs.js'

/** Says in a word or two what became of the job; written to the log. */
export type JobOutcome = string

export interface JobHandler<Name extends JobName = JobName> {
  name: Name
  handle(payload: JobPayload<Name>): Promise<JobOutcome>
}

export type AnyHandler = { [Name in JobName]: JobHandler<Name> }[JobName]

export class HandlersError extends Error {}

/** @throws HandlersError that names every job without a handler and every handler given twice */
export function checkHandlers(handlers: readonly AnyHandler[]): ReadonlyMap<JobName, AnyHandler> {
  const faults: string[] = []
  const found = new Map<JobName, AnyHandler>()
  for (const handler of handlers) {
    if (!isJobName(handler.name)) faults.push(`${String(handler.name)} is no job`)
    else if (found.has(handler.name)) faults.push(`${handler.name} has two handlers`)
    found.set(handler.name, handler)
  }
  for (const name of JOB_NAMES) if (!found.has(name)) faults.push(`${name} has no handler`)
  if (faults.length > 0) throw new HandlersError(`Jobs and handlers do not match: ${faults.join('; ')}.`)
  return found
}

export interface ConsumerSettings {
  concurrency: Readonly<Record<QueueName, number>>
  /** How long a job of a dead worker stays locked. */
  lockMs: number
  onError: (error: Error) => void
  onEnd: (job: TakenJob, outcome: JobOutcome, elapsedMs: number) => void
  onFailure: (job: TakenJob, error: Error) => void
}

/** Takes jobs from every queue and gives each to its handler. */
export class Consumers {
  private constructor(private readonly workers: readonly BackendWorker[]) {}

  static start(backend: Backend, handlers: readonly AnyHandler[], settings: ConsumerSettings): Consumers {
    const byName = checkHandlers(handlers)
    const work = async (job: TakenJob): Promise<JobOutcome> => {
      const began = performance.now()
      try {
        const outcome = await handleJob(byName, job)
        settings.onEnd(job, outcome, performance.now() - began)
        return outcome
      } catch (error) {
        settings.onFailure(job, error as Error)
        throw error
      }
    }
    const workers = QUEUE_NAMES.filter((queue) => Object.values(JOBS).some((job) => job.queue === queue)).map((queue) =>
      backend.worker(queue, work, { concurrency: settings.concurrency[queue], lockMs: settings.lockMs, onError: settings.onError }),
    )
    return new Consumers(workers)
  }

  async waitUntilReady(): Promise<void> {
    for (const worker of this.workers) await worker.waitUntilReady()
  }

  /** Waits for the jobs in hand unless forced. */
  async close(force = false): Promise<void> {
    await Promise.all(this.workers.map((worker) => worker.close(force)))
  }
}

export async function handleJob(handlers: ReadonlyMap<JobName, AnyHandler>, job: TakenJob): Promise<JobOutcome> {
  if (!isJobName(job.name)) return 'no such job: left by another version'
  const handler = handlers.get(job.name) as JobHandler | undefined
  if (!handler) throw new Error(`Nobody here handles ${job.name}.`)
  return handler.handle(parsePayload(job.name, job.data) as never)
}
