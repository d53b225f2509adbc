import { setTimeout as later } from 'node:timers/promises'
import { createMailer } from '@tapewarden/messaging'
import { SqlDatabase } from '@tapewarden/persistence/sql'
import type { Logger } from '@tapewarden/platform'
import { type AnyHandler, Consumers, JobQueue } from '@tapewarden/queues'
import { readBounceFolder } from './bounces/read-folder.js'
import { composeMessages } from './composing/compose-messages.js'
import { crashAt } from './crash-points.js'
import type { WorkerParts } from './parts.js'
import { planChunk, planWarehouse } from './planning/plan-warehouse.js'
import { type Planner, startPlanner } from './planning/planner-threads.js'
import { toldInALine } from './planning/run-pass.js'
import { scoreDates } from './planning/score-dates.js'
import { SENDING_AHEAD } from './sending/lots.js'
import { sendMessage } from './sending/send-message.js'
import type { WorkerSettings } from './settings.js'
import { sendWebhook } from './webhooks/deliver.js'
import { sweep, type Swept } from './sweep/sweep.js'
import { Watch } from './watch/watch.js'

export interface OpenedParts extends WorkerParts {
  planner: Planner
}

/** Opens everything a handler needs. The caller closes it with closeParts. */
export async function openParts(settings: WorkerSettings, log: Logger): Promise<OpenedParts> {
  const most = settings.SEND_CONCURRENCY + 8
  const database = await SqlDatabase.open({ url: settings.DATABASE_URL, applicationName: 'tapewarden worker', most })
  const dkim =
    settings.DKIM_DOMAIN && settings.DKIM_SELECTOR && settings.DKIM_PRIVATE_KEY
      ? { domainName: settings.DKIM_DOMAIN, keySelector: settings.DKIM_SELECTOR, privateKey: settings.DKIM_PRIVATE_KEY }
      : undefined
  const planner = startPlanner(settings.DATABASE_URL, settings.PLANNING_THREADS, (error) =>
    log.error({ err: error }, 'a planning thread ended'),
  )
  return {
    database,
    clock: database.clock({ clockAt: settings.CLOCK_AT, clockOffsetMs: settings.CLOCK_OFFSET, production: settings.production }),
    queue: JobQueue.open(settings.QUEUE_URL, (error) => log.warn({ err: error }, 'the queue does not answer')),
    mailer: createMailer({
      smtpUrl: settings.SMTP_URL,
      dkim,
      most: settings.SMTP_CONNECTIONS,
      silenceMs: settings.SMTP_SILENCE_SECONDS * 1000,
      longestMs: settings.SEND_LEASE_SECONDS * 1000 * 0.9,
    }),
    log,
    settings,
    planner,
    runPass: toldInALine((request) => planner.plan(request)),
    crash: crashAt(settings.CRASH_AT),
  }
}

export async function closeParts(parts: OpenedParts): Promise<void> {
  parts.mailer.close()
  await parts.planner.close()
  await parts.queue.close()
  await parts.database.close()
}

export function allHandlers(parts: WorkerParts): AnyHandler[] {
  return [planWarehouse(parts), planChunk(parts), scoreDates(parts), composeMessages(parts), sendMessage(parts), sendWebhook(parts)]
}

/** Takes jobs, and asks PostgreSQL every half minute what should have moved. */
export class Worker {
  private readonly stopping = new AbortController()
  private loop: Promise<void> = Promise.resolve()
  private lastSweptAt: number | null = null
  private readonly watch: Watch

  private constructor(
    readonly parts: WorkerParts,
    private readonly consumers: Consumers,
  ) {
    this.watch = new Watch(parts)
  }

  static async start(parts: WorkerParts): Promise<Worker> {
    const { log, settings } = parts
    await parts.queue.waitUntilReady()
    const consumers = Consumers.start(parts.queue.backend, allHandlers(parts), {
      concurrency: { planning: settings.PLANNING_THREADS, composing: 2, sending: settings.SEND_CONCURRENCY * SENDING_AHEAD, telling: 4 },
      lockMs: settings.JOB_LOCK_SECONDS * 1000,
      onError: (error) => log.warn({ err: error }, 'a queue worker lost its connection'),
      onEnd: (job, outcome, elapsedMs) =>
        log.info({ jobId: job.id, job: job.name, data: job.data, elapsedMs: Math.round(elapsedMs) }, outcome),
      onFailure: (job, error) => log.error({ jobId: job.id, job: job.name, data: job.data, err: error }, 'job failed'),
    })
    await consumers.waitUntilReady()
    const worker = new Worker(parts, consumers)
    worker.loop = worker.loops()
    return worker
  }

  /** A queue that hangs holds the sweep up; whoever looks on must not wait for it. */
  private async loops(): Promise<void> {
    await Promise.all([
      this.again('the sweep failed; it is tried again', () => this.sweepOnce()),
      this.again('what comes back could not be read; it is tried again', () => readBounceFolder(this.parts)),
      this.again('what should have moved could not be looked at; it is tried again', () => this.watch.look()),
    ])
  }

  private async again(complaint: string, work: () => Promise<unknown>): Promise<void> {
    const { log, settings } = this.parts
    const { signal } = this.stopping
    while (!signal.aborted) {
      await work().catch((error: unknown) => log.error({ err: error }, complaint))
      await later(settings.SWEEP_SECONDS * 1000, undefined, { signal }).catch(() => undefined)
    }
  }

  private async sweepOnce(): Promise<void> {
    const swept: Swept = await sweep(this.parts)
    this.lastSweptAt = Date.now()
    if (swept.jobs + swept.uncertain + swept.released + swept.expired > 0) this.parts.log.info({ ...swept }, 'swept')
  }

  /** Seconds since the last sweep that ended well; null before the first. */
  secondsSinceSweep(): number | null {
    return this.lastSweptAt === null ? null : (Date.now() - this.lastSweptAt) / 1000
  }

  /** Ends the jobs in hand, takes no more. */
  async stop(): Promise<void> {
    this.stopping.abort()
    await this.consumers.close()
    await this.loop
  }
}
