/** The worker's parts for tests: a database of the test's own, a clock that stands still, a sink that the test holds. */
import { createMailer } from '@tapewarden/messaging'
import { SqlDatabase } from '@tapewarden/persistence/sql'
import { createLogger, FixedClock } from '@tapewarden/platform'
import type { JobQueue, JobToAdd } from '@tapewarden/queues'
import type { WorkerParts } from '../../apps/worker/src/parts.js'
import { readWorkerSettings } from '../../apps/worker/src/settings.js'
import { createTestDatabase, type TestDatabase } from './database.js'
import { MAIL_NOW } from './mail-organisation.js'
import { type SmtpSink, startSmtpSink } from './smtp-sink.js'

/** Keeps what would have been put into the queue. */
export class RecordedQueue {
  readonly jobs: JobToAdd[] = []
  readonly enqueue: JobQueue['enqueue'] = async (name, input, options) => {
    this.jobs.push({ name, input, ...(options ? { options } : {}) } as JobToAdd)
  }
  /** No worker takes anything from it. */
  readonly counts = async (): Promise<Record<string, Record<string, number>>> => ({ sending: { waiting: this.jobs.length } })
  readonly enqueueAll: JobQueue['enqueueAll'] = async (jobs) => void this.jobs.push(...jobs)
}

export interface TestWorker {
  parts: WorkerParts
  clock: FixedClock
  queue: RecordedQueue
  sink: SmtpSink
  test: TestDatabase
  close(): Promise<void>
}

export async function openTestWorker(more: Readonly<Record<string, string>> = {}): Promise<TestWorker> {
  const test = await createTestDatabase()
  const sink = await startSmtpSink()
  const settings = readWorkerSettings({
    NODE_ENV: 'test',
    DATABASE_URL: test.appUrl,
    SMTP_URL: sink.url,
    SECRET_KEY: 'only-for-tests-'.repeat(3),
    PUBLIC_URL: 'https://care.example',
    LOG_LEVEL: 'silent',
    ...more,
  })
  const database = await SqlDatabase.open({ url: test.appUrl, applicationName: 'test worker', most: 12 })
  const clock = new FixedClock(MAIL_NOW)
  const queue = new RecordedQueue()
  const parts: WorkerParts = {
    database,
    clock,
    queue: queue as unknown as JobQueue,
    mailer: createMailer({ smtpUrl: sink.url, silenceMs: 500 }),
    log: createLogger('test', 'silent'),
    settings,
    runPass: async ({ machineIds }) => ({ summary: `${machineIds.length} machines` }),
    crash: () => undefined,
  }
  return {
    parts,
    clock,
    queue,
    sink,
    test,
    async close() {
      parts.mailer.close()
      await database.close()
      await sink.stop()
      await test.drop()
    },
  }
}
