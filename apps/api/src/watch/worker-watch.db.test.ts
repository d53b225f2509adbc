/** Workers that nobody hears of any more: the api says so by mail within two minutes, once, and not at all while one is there. */
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { createMailer, type Mailer } from '@tapewarden/messaging'
import { Database } from '@tapewarden/persistence'
import { createLogger, FixedClock } from '@tapewarden/platform'
import { simpleParser } from 'mailparser'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { type SmtpSink, startSmtpSink } from '../../../../tests/support/smtp-sink.js'
import { WorkerWatch } from './worker-watch.js'

jest.setTimeout(120_000)
const STEP_SECONDS = 15

let test: TestDatabase
let database: Database
let sink: SmtpSink
let mailer: Mailer
let clock: FixedClock
let ours: MailOrganisation
let number = 0

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'watch test', most: 6 })
  sink = await startSmtpSink()
  mailer = createMailer({ smtpUrl: sink.url, silenceMs: 500 })
})
afterAll(async () => {
  mailer.close()
  await sink.stop()
  await database.close()
  await test.drop()
})

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const at = (seconds: number) => clock.set(new Date(MAIL_NOW.getTime() + seconds * 1000))
const beat = (seconds: number) =>
  sql(
    `INSERT INTO heartbeat (organisation_id, process, seen_at, clock_difference_ms, queue_answers, unsaid_reminders, oldest_unsaid_seconds)
     VALUES ($1, 'worker a 1', $2, 0, true, 0, 0) ON CONFLICT (organisation_id, process) DO UPDATE SET seen_at = excluded.seen_at`,
    [ours.organisationId, new Date(MAIL_NOW.getTime() + seconds * 1000)],
  )
const states = async () =>
  (await sql<{ state: string }>(`SELECT state FROM message WHERE class_key LIKE 'workers_silent %' ORDER BY id`)).map(({ state }) => state)
const watch = () =>
  new WorkerWatch({
    database,
    clock,
    mailer,
    logger: createLogger('test', 'silent'),
    publicUrl: 'https://care.example',
    mailFrom: 'Tapewarden <care@care.example>',
    silenceSeconds: 75,
    leaseSeconds: 180,
  })

beforeEach(async () => {
  if (ours) await database.withOrganisationSql(ours.organisationId, (scope) => scope.run('DELETE FROM heartbeat'))
  if (ours) await sql(`UPDATE person SET disabled_at = now()`)
  clock = new FixedClock(MAIL_NOW)
  sink.taken.length = 0
  sink.fault = () => null
  ours = await insertMailOrganisation(database, `s${++number}`, { machines: 2 })
})

/** @returns the second of the first alarm */
async function looks(own: WorkerWatch, from: number, to: number, meanwhile: (second: number) => Promise<unknown> = async () => null) {
  for (let second = from; second <= to; second += STEP_SECONDS) {
    at(second)
    await meanwhile(second)
    if ((await own.look()) > 0) return second
  }
  return null
}

describe('workers that are silent', () => {
  it('are told of within two minutes of their last word, with what waits', async () => {
    const own = watch()
    await own.look()
    await beat(600)
    const alarmedAt = await looks(own, 605, 900)
    expect(alarmedAt! - 600).toBeLessThanOrEqual(120)
    const mail = await simpleParser(sink.taken[0]!.raw)
    expect(mail.subject).toBe('Tapewarden: no mail goes out, no worker answers')
    expect(mail.text?.replace(/\s+/g, ' ')).toMatch(/No worker has been heard of for \d+ seconds\. .*4 reminders wait/)
    expect(mail.text).toContain('https://care.example/set-up/health')
    expect(mail.headers.has('list-unsubscribe')).toBe(false)
    expect(await states()).toEqual(['sent'])
  })

  it('are told of where none has ever been there, after the api has waited for one; its own word counts for none', async () => {
    expect(await looks(watch(), 0, 300)).toBe(75)
    const [own] = await sql<{ process: string; queue: boolean | null; ms: number }>(
      'SELECT process, queue_answers AS queue, clock_difference_ms AS ms FROM heartbeat WHERE seen_at = $1',
      [new Date(MAIL_NOW.getTime() + 75_000)],
    )
    expect(own).toMatchObject({ process: expect.stringMatching(/^api \S+ \d+$/), queue: null })
    expect(Math.abs(own!.ms)).toBeLessThan(2000)
  })

  it('are told of once by several apis, and at most once an hour however often they come and go', async () => {
    const apis = [watch(), watch(), watch()]
    await Promise.all(apis.map((own) => own.look()))
    for (let second = 0; second <= 2700; second += 60) {
      at(second)
      if (second % 300 === 0) await beat(second)
      await Promise.all(apis.map((own) => own.look()))
    }
    expect(sink.taken).toHaveLength(1)
    expect(await looks(apis[0]!, 3700, 4000)).not.toBeNull()
    expect(sink.taken).toHaveLength(2)
  })

  it('are no alarm while one of them speaks every half minute, and none at a restart of a few seconds', async () => {
    expect(await looks(watch(), 0, 600, async (second) => (second % 60 === 0 ? beat(second) : null))).toBeNull()
    await beat(600)
    // The api starts long after the last word: it waits for the workers that start with it.
    at(90_000)
    const started = watch()
    await started.look()
    expect(await looks(started, 90_000, 90_060)).toBeNull()
  })

  it('are told of again where the mail server could not take it; not any more when one is back', async () => {
    const own = watch()
    await own.look()
    sink.fault = (phase) => (phase === 'rcpt' ? '4xx' : null)
    expect(await looks(own, 0, 120)).toBeNull()
    expect(await states()).toEqual(['pending'])
    sink.fault = () => null
    at(135)
    expect(await own.look()).toBe(1)
    expect(sink.taken).toHaveLength(1)
    await sql(`UPDATE message SET state = 'pending' WHERE class_key LIKE 'workers_silent %'`)
    await beat(140)
    at(150)
    expect(await own.look()).toBe(0)
    expect(await states()).toEqual(['expired'])
  })
})
