/** The whole worker on each queue backend: jobs that come twice, are lost, or are of another version have one effect or none. */
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { JobQueue, enqueuePlanning, QUEUE_NAMES } from '@tapewarden/queues'
import { insertMailOrganisation, MAIL_TODAY, type MailOrganisation } from '../../../tests/support/mail-organisation.js'
import { startTestRedis, type TestRedis, whyNoRedis } from '../../../tests/support/redis.js'
import { openTestWorker, type TestWorker } from '../../../tests/support/worker-parts.js'
import { readQueueHealth } from './health/queue-health.js'
import { sweep } from './sweep/sweep.js'
import { Worker } from './worker.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

if (whyNoRedis !== null) console.warn(`SKIPPED: the worker's tests on Redis. ${whyNoRedis}`)
const backends = whyNoRedis === null ? (['postgres', 'redis'] as const) : (['postgres'] as const)

async function until(what: string, ask: () => Promise<boolean>): Promise<void> {
  const end = Date.now() + 40_000
  while (!(await ask())) {
    if (Date.now() > end) throw new Error(`Waited in vain for ${what}.`)
    await new Promise((later) => setTimeout(later, 50))
  }
}

describe.each(backends)('on %s', (backend) => {
  let test: TestWorker
  let redis: TestRedis | null = null
  let ours: MailOrganisation
  let worker: Worker
  let passes: string[]
  let number = 0

  const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
    test.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
  const sent = async () => (await sql<{ n: number }>(`SELECT count(*)::int AS n FROM message WHERE state = 'sent'`))[0]?.n ?? 0
  const upToDate = async () =>
    (await sql('SELECT 1 FROM warehouse WHERE planned_version = evidence_version AND planned_on = $1', [MAIL_TODAY])).length === 1
  const idle = async () =>
    Object.values(await test.parts.queue.counts()).every(({ waiting, active, delayed }) => waiting + active + delayed === 0)

  beforeAll(async () => {
    test = await openTestWorker({ SWEEP_SECONDS: '3600', JOB_LOCK_SECONDS: '5' })
    redis = backend === 'redis' ? await startTestRedis() : null
    test.parts.queue = JobQueue.open(redis?.url ?? test.test.appUrl, () => undefined)
    await test.parts.queue.waitUntilReady()
  })
  afterAll(async () => {
    await test.parts.queue.close()
    await redis?.stop()
    await test.close()
  })
  beforeEach(async () => {
    test.sink.taken.length = 0
    passes = []
    test.parts.runPass = async ({ machineIds, today }) => {
      passes.push(`${today} ${machineIds.length}`)
      return { summary: 'done' }
    }
    ours = await insertMailOrganisation(test.parts.database, `${backend}${++number}`, { machines: 4 })
  })
  afterEach(async () => {
    await worker.stop()
    // So that a later test's sweep finds only its own organisation's work.
    await sql(`UPDATE warehouse SET planned_on = '2999-01-01', planned_version = evidence_version`)
    await sql(`UPDATE reminder SET dropped_reason = 'test ended' WHERE message_id IS NULL`)
  })

  it('turns a change into a pass, the pass into a mail, once, though the change is told ten times', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    for (let time = 0; time < 10; time++) await enqueuePlanning(test.parts.queue, ours.organisationId, ours.warehouseId)
    worker = await Worker.start(test.parts)
    await until('both mails', async () => (await sent()) === 2)
    expect(await upToDate()).toBe(true)
    await until('an idle queue', idle)
    expect(passes).toEqual([`${MAIL_TODAY} 5`])
    expect(test.sink.taken).toHaveLength(2)
  })

  it('says that it lives, and looks on, while a queue that hangs holds the sweep up', async () => {
    const queue = test.parts.queue
    let release = () => {}
    const hang = new Promise<void>((done) => (release = done))
    test.parts.queue = Object.assign(Object.create(queue) as JobQueue, { enqueueAll: () => hang, counts: () => hang })
    worker = await Worker.start(test.parts)
    await until('a heartbeat', async () => (await sql('SELECT 1 FROM heartbeat WHERE NOT queue_answers')).length === 1)
    expect(worker.secondsSinceSweep()).toBeNull()
    release()
    test.parts.queue = queue
  })

  it('runs once more for a change that comes while a pass runs', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    test.parts.runPass = async ({ today }) => {
      passes.push(today)
      if (passes.length === 1) {
        await sql('UPDATE warehouse SET evidence_version = evidence_version + 1')
        await enqueuePlanning(test.parts.queue, ours.organisationId, ours.warehouseId)
      }
      return { summary: 'done' }
    }
    worker = await Worker.start(test.parts)
    await until('dates that rest on everything', upToDate)
    await until('an idle queue', idle)
    expect(passes.length).toBe(2)
  })

  it('keeps one job of a key, so that sweeps of the same slot pile nothing up', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    for (let time = 0; time < 3; time++) await sweep(test.parts, 'one-slot')
    const waiting = Object.values(await test.parts.queue.counts()).reduce((sum, counts) => sum + counts.waiting + counts.delayed, 0)
    // A pass, a mail to compose, and a word to another program that waits in the test's organisation.
    expect(waiting).toBe(3)
    worker = await Worker.start(test.parts)
    await until('both mails', async () => (await sent()) === 2)
    await until('an idle queue', idle)
  })

  it('has one effect though every job comes three times', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    worker = await Worker.start(test.parts)
    await Promise.all([1, 2, 3].map((slot) => sweep(test.parts, `again-${slot}`)))
    await until('both mails', async () => (await sent()) === 2)
    const ids = (await sql<{ id: string }>('SELECT id FROM message')).map(({ id }) => id)
    for (const slot of ['a', 'b', 'c'])
      await test.parts.queue.enqueueAll(
        ids.map((id) => ({
          name: 'send_message',
          input: { organisationId: ours.organisationId, messageId: id },
          options: { key: `${id}-${slot}` },
        })),
      )
    await until('an idle queue', idle)
    expect(test.sink.taken).toHaveLength(2)
    expect(new Set(test.sink.taken.map(({ messageId }) => messageId)).size).toBe(2)
  })

  it('finds everything again after the queue was emptied', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    await enqueuePlanning(test.parts.queue, ours.organisationId, ours.warehouseId)
    await test.parts.queue.empty()
    expect(await idle()).toBe(true)
    const swept = await sweep(test.parts, 'rebuild-1')
    expect(swept.jobs).toBe(3)
    worker = await Worker.start(test.parts)
    await until('both mails', async () => (await sent()) === 2)
    expect(await readQueueHealth(test.parts.database, await test.parts.clock.now())).toMatchObject({
      oldestDueMessageSeconds: 0,
      unsaidReminders: 0,
      warehousesBehind: 0,
    })
  })

  it('tries a job again that failed, and lets one that always fails stop nothing else', async () => {
    await sql('UPDATE warehouse SET evidence_version = 2, planned_version = 1')
    test.parts.runPass = async () => {
      passes.push('tried')
      throw new Error('a broken chunk')
    }
    worker = await Worker.start(test.parts)
    await until('a second try', async () => passes.length >= 2)
    // Its dates of today are there from before, so what is to be said is said.
    await until('both mails', async () => (await sent()) === 2)
    expect(await upToDate()).toBe(false)
  })

  it('leaves jobs of an unknown name or shape alone', async () => {
    worker = await Worker.start(test.parts)
    const queue = test.parts.queue.backend.queue(QUEUE_NAMES[1], () => undefined)
    await queue.addAll([
      { name: 'of_another_version', data: {}, options: { jobId: 'x-1', removeOnComplete: true, removeOnFail: true } },
      { name: 'compose_messages', data: { v: 2 }, options: { jobId: 'x-2', removeOnComplete: true, removeOnFail: true } },
    ])
    await until('both mails', async () => (await sent()) === 2)
    await until('an idle queue', idle)
    await queue.close()
  })
})
