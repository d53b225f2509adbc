/** A queue that takes jobs and never runs them, with the clock in hand: the alarm comes in time, and only then. */
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { simpleParser } from 'mailparser'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { compose } from '../composing/compose-messages.js'
import { readQueueHealth } from '../health/queue-health.js'
import { send } from '../sending/send-message.js'
import { sweep } from '../sweep/sweep.js'
import { settleMessages } from '../sweep/settle.js'
import { Watch } from './watch.js'

// A busy machine takes ten times as long.
jest.setTimeout(400_000)

const TICK_SECONDS = 30
let worker: TestWorker
let ours: MailOrganisation
let number = 0
let current = MAIL_NOW

function setClock(instant: Date): void {
  current = instant
  worker.clock.set(instant)
}

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const at = (seconds: number) => setClock(new Date(MAIL_NOW.getTime() + seconds * 1000))
const alarms = () =>
  sql<{ state: string; created: Date }>(`SELECT state, created_at AS created FROM message WHERE class_key = 'queue_stuck'`)

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  // The watch looks at every organisation: those of earlier tests have nothing to say any more.
  if (ours) await sql(`UPDATE reminder SET dropped_reason = 'x' WHERE message_id IS NULL`)
  if (ours) await sql(`UPDATE message SET state = 'sent' WHERE state <> 'sent'`)
  setClock(MAIL_NOW)
  worker.sink.taken.length = 0
  worker.sink.fault = () => null
  ours = await insertMailOrganisation(worker.parts.database, `w${++number}`, { machines: 3 })
})

/** Ticks as the worker's loop does, from a phase of its own; at each, what a healthy queue would do meanwhile. */
async function ticks(
  fromSeconds: number,
  toSeconds: number,
  meanwhile: (second: number) => Promise<unknown> = async () => null,
): Promise<number | null> {
  const watch = new Watch(worker.parts)
  for (let second = fromSeconds; second <= toSeconds; second += TICK_SECONDS) {
    at(second)
    await meanwhile(second)
    if ((await watch.look()) > 0) return second
  }
  return null
}

describe('a queue that stands still', () => {
  it.each([0, 7, 15, 29])('whose mails nobody sends: the alarm goes out within two minutes, past the queue (phase %d s)', async (phase) => {
    await compose(worker.parts, ours.organisationId, ours.warehouseId)
    const alarmedAt = await ticks(phase, 300)
    expect(alarmedAt).not.toBeNull()
    expect(alarmedAt!).toBeLessThanOrEqual(120)
    expect(await alarms()).toMatchObject([{ state: 'sent' }])
    const mail = await simpleParser(worker.sink.taken[0]!.raw)
    expect(mail.subject).toBe('Tapewarden: what should go out stands still')
    expect(mail.text).toContain('2 mails are due and not sent')
    expect(mail.text).toContain('https://care.example/set-up/health')
    expect(mail.headers.has('list-unsubscribe')).toBe(false)
  })

  it('whose reminders nobody composes: the same', async () => {
    await sql(`UPDATE reminder SET created_at = $1`, [MAIL_NOW])
    const alarmedAt = await ticks(11, 300)
    expect(alarmedAt!).toBeLessThanOrEqual(120)
    expect((await simpleParser(worker.sink.taken[0]!.raw)).text).toContain('6 reminders wait')
  })

  it('is told once a day and not in a loop, by however many workers', async () => {
    await compose(worker.parts, ours.organisationId, ours.warehouseId)
    const watches = [new Watch(worker.parts), new Watch(worker.parts), new Watch(worker.parts)]
    for (let second = 0; second <= 600; second += TICK_SECONDS) {
      at(second)
      await Promise.all(watches.map((watch) => watch.look()))
    }
    expect(worker.sink.taken).toHaveLength(1)
  })

  it('is no alarm while it moves: eight hours of reminders come and go', async () => {
    await compose(worker.parts, ours.organisationId, ours.warehouseId)
    let place = 0
    const alarmedAt = await ticks(0, 8 * 3600, async (second) => {
      if (second % 600 === 0)
        await sql(`UPDATE reminder SET message_id = NULL, created_at = $2 WHERE id = $1`, [ours.reminderIds[place++ % 6], current])
      if (second % 600 === 30) await compose(worker.parts, ours.organisationId, ours.warehouseId)
      if (second % 600 === 60)
        for (const { id } of await sql<{ id: string }>(`SELECT id FROM message WHERE state = 'pending'`))
          await send(worker.parts, ours.organisationId, id)
    })
    expect(alarmedAt).toBeNull()
  })

  it('is no alarm where people only wait for their own day and hour', async () => {
    await sql(`UPDATE person SET digest_weekday = 5`)
    expect(await ticks(0, 1800)).toBeNull()
    expect((await readQueueHealth(worker.parts.database, current)).oldestUnsaidSeconds).toBe(0)
  })

  it('is no alarm at a start after a night, when the old rows move in a moment', async () => {
    await compose(worker.parts, ours.organisationId, ours.warehouseId)
    const alarmedAt = await ticks(7200, 7800, async (second) => {
      if (second === 7230)
        for (const { id } of await sql<{ id: string }>(`SELECT id FROM message WHERE state = 'pending'`))
          await send(worker.parts, ours.organisationId, id)
    })
    expect(alarmedAt).toBeNull()
  })
})

describe('a heartbeat', () => {
  it('says the difference of clocks, whether the queue answers and what waits', async () => {
    await new Watch(worker.parts).look()
    const [beat] = await sql<{ seen_at: Date; clock_difference_ms: number; queue_answers: boolean; unsaid_reminders: number }>(
      `SELECT * FROM heartbeat WHERE process LIKE 'worker %'`,
    )
    expect(beat).toMatchObject({ seen_at: current, unsaid_reminders: 6 })
    expect(Math.abs(beat!.clock_difference_ms)).toBeLessThan(2000)
  })
})

describe('a mail that could not go out in time', () => {
  it('is told once to the other person named, in working hours, and what it said waits for the next digest', async () => {
    const { messageIds } = await compose(worker.parts, ours.organisationId, ours.warehouseId)
    const [mine] = await sql<{ id: string }>(`SELECT id FROM message WHERE person_id = $1`, [ours.managerId])
    for (const id of messageIds) if (id !== mine!.id) await send(worker.parts, ours.organisationId, id)
    await sql(`UPDATE message SET last_error = '451 not now' WHERE id = $1`, [mine!.id])
    // Thursday, five in the morning: working hours begin at six.
    setClock(new Date('2026-03-05T10:30:00Z'))
    const settle = () => worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => settleMessages(scope, current))
    setClock(new Date('2026-03-06T05:00:00Z'))
    expect(await settle()).toMatchObject({ expired: 1 })
    expect(await settle()).toMatchObject({ expired: 0 })
    const notes = await sql<{ id: string; person_id: string; send_after: Date }>(
      `SELECT * FROM message WHERE class_key LIKE 'not_in_time%'`,
    )
    expect(notes).toMatchObject([{ person_id: ours.technicianId, send_after: new Date('2026-03-06T06:00:00Z') }])
    setClock(new Date('2026-03-06T06:00:00Z'))
    expect(await send(worker.parts, ours.organisationId, notes[0]!.id)).toBe('sent')
    const mail = await simpleParser(worker.sink.taken.at(-1)!.raw)
    expect(mail.subject).toBe('North: a mail to Mara could not go out in time')
    expect(mail.text?.replace(/\s+/g, ' ')).toContain(
      'The mail of 3 March to Mara about North could not be sent for two days and was given up: 451 not now',
    )
    expect(await sql(`SELECT count(*)::int AS n FROM reminder WHERE message_id IS NULL AND dropped_reason IS NULL`)).toEqual([{ n: 3 }])
    await sweep(worker.parts)
    expect(worker.queue.jobs.map(({ name }) => name)).toContain('compose_messages')
  })
})
