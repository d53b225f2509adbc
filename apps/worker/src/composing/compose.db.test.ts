import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { insertMailOrganisation, MAIL_NOW, MAIL_TODAY, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { simpleParser } from 'mailparser'
import { send } from '../sending/send-message.js'
import { compose } from './compose-messages.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation
let number = 0

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.queue.jobs.length = 0
  ours = await insertMailOrganisation(worker.parts.database, `c${++number}`, { machines: 5 })
})

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const run = () => compose(worker.parts, ours.organisationId, ours.warehouseId)
const messages = () =>
  sql<{ id: string; person_id: string; class: string; state: string; reminders: number }>(
    `SELECT m.id, person_id, m.class, state, (SELECT count(*)::int FROM reminder r WHERE r.message_id = m.id) AS reminders FROM message m ORDER BY created_at, id`,
  )

describe('composing', () => {
  it('makes one digest a person and puts it into the queue; run twice, and twice at once, it has one effect', async () => {
    await Promise.all([run(), run(), run()])
    await run()
    const made = await messages()
    expect(
      made
        .map(({ person_id, class: kind, state, reminders }) => ({ person_id, kind, state, reminders }))
        .sort((a, b) => a.person_id.localeCompare(b.person_id)),
    ).toEqual(
      [ours.managerId, ours.technicianId].sort().map((person_id) => ({ person_id, kind: 'digest', state: 'pending', reminders: 5 })),
    )
    expect(worker.queue.jobs.map(({ name }) => name)).toEqual(['send_message', 'send_message'])
    expect(await sql('SELECT 1 FROM reminder WHERE message_id IS NULL')).toEqual([])
  })

  it('says nothing outside working hours, on a closed day, and before today’s dates are computed', async () => {
    for (const at of ['2026-03-03T05:59:00Z', '2026-03-03T14:00:00Z', '2026-03-07T10:00:00Z']) {
      worker.clock.set(new Date(at))
      expect(await run()).toMatchObject({ why: 'outside working hours' })
    }
    await sql(
      `INSERT INTO closure (organisation_id, id, warehouse_id, from_date, to_date) VALUES ($1, $2, $3, '2026-03-03', '2026-03-03')`,
      [ours.organisationId, newId(), ours.warehouseId],
    )
    worker.clock.set(MAIL_NOW)
    expect(await run()).toMatchObject({ why: 'outside working hours' })
    await sql(`DELETE FROM closure WHERE from_date = '2026-03-03'`)
    await sql(`UPDATE warehouse SET planned_on = '2026-03-02'`)
    worker.clock.set(new Date('2026-03-03T07:00:00Z'))
    expect(await run()).toMatchObject({ why: 'waits for today’s dates' })
    // Two hours into the day a failing pass keeps nothing back any more.
    worker.clock.set(new Date('2026-03-03T08:00:00Z'))
    expect((await run()).messageIds).toHaveLength(2)
  })

  it('does not say what has been done meanwhile, nor what is not yet to be said', async () => {
    await sql(`UPDATE occurrence SET state = 'done', done_on = $2, ended_on = $2 WHERE id = ANY($1::uuid[])`, [
      ours.occurrenceIds.slice(0, 2),
      MAIL_TODAY,
    ])
    await sql(`UPDATE reminder SET say_on = '2026-03-04' WHERE occurrence_id = $1`, [ours.occurrenceIds[2]])
    await run()
    expect((await messages()).map(({ reminders }) => reminders)).toEqual([2, 2])
    expect(await sql(`SELECT DISTINCT dropped_reason FROM reminder WHERE dropped_reason IS NOT NULL`)).toEqual([
      { dropped_reason: 'no longer open' },
    ])
  })

  it('leaves a second batch of the day to the next day once the digest is under way, and joins it while it waits', async () => {
    await sql(`UPDATE reminder SET say_on = '2026-03-04' WHERE occurrence_id = ANY($1::uuid[])`, [ours.occurrenceIds.slice(0, 2)])
    await run()
    await sql(`UPDATE reminder SET say_on = '2026-03-03' WHERE occurrence_id = $1`, [ours.occurrenceIds[0]])
    await run()
    expect((await messages()).map(({ reminders }) => reminders)).toEqual([4, 4])
    await sql(`UPDATE message SET state = 'sent', attempts = 1`)
    await sql(`UPDATE reminder SET say_on = '2026-03-03' WHERE occurrence_id = $1`, [ours.occurrenceIds[1]])
    expect(await run()).toMatchObject({ messageIds: [] })
    worker.clock.set(new Date('2026-03-04T10:00:00Z'))
    await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
    await run()
    expect((await messages()).map(({ reminders }) => reminders)).toEqual([4, 4, 1, 1])
  })

  it('sends what is for someone away to the cover, in the cover’s own digest', async () => {
    await sql(
      `INSERT INTO absence (organisation_id, id, person_id, from_date, to_date, cover_person_id) VALUES ($1, $2, $3, '2026-03-01', '2026-03-10', $4)`,
      [ours.organisationId, newId(), ours.managerId, ours.technicianId],
    )
    await run()
    expect((await messages()).map(({ person_id, reminders }) => ({ person_id, reminders }))).toEqual([
      { person_id: ours.technicianId, reminders: 10 },
    ])
  })

  it.each([
    ['has no address', `email = NULL`],
    ['has an address that no mail can go to', `email = E'a@b\\nBcc: c@d.example'`],
    ['is disabled', `disabled_at = now()`],
    ['has turned the mails off', `reminder_mail = false`],
  ])('tells the second person where the first %s', async (_why, change) => {
    await sql(`UPDATE person SET ${change} WHERE id = $1`, [ours.managerId])
    await run()
    expect((await messages()).map(({ person_id, reminders }) => ({ person_id, reminders }))).toEqual([
      { person_id: ours.technicianId, reminders: 10 },
    ])
  })

  it('keeps a reminder that nobody can have, and says it when somebody can', async () => {
    await sql(`UPDATE person SET disabled_at = now()`)
    expect((await run()).why).toBe('composed; 10 reminders have nobody who can have mail')
    expect(await messages()).toEqual([])
    await sql(`UPDATE person SET disabled_at = NULL WHERE id = $1`, [ours.managerId])
    await run()
    expect((await messages()).map(({ reminders }) => reminders)).toEqual([10])
  })

  it('makes urgent mail of the named causes only, beside the digest', async () => {
    await sql(`UPDATE reminder SET class = 'urgent', stage = 'hard_limit_tomorrow' WHERE occurrence_id = $1`, [ours.occurrenceIds[0]])
    await sql(`UPDATE reminder SET class = 'urgent', stage = 'safety_finding' WHERE occurrence_id = $1`, [ours.occurrenceIds[1]])
    await Promise.all([run(), run()])
    const kinds = await sql<{ kind: string; n: number }>(
      `SELECT content ->> 'kind' AS kind, count(*)::int AS n FROM message GROUP BY 1 ORDER BY 1`,
    )
    expect(kinds).toEqual([
      { kind: 'digest', n: 2 },
      { kind: 'hard_limit', n: 2 },
      { kind: 'safety_finding', n: 2 },
    ])
  })

  it('folds an uncertain message into the next working day’s digest, once, and only while something of it is open', async () => {
    await run()
    await sql(`UPDATE message SET state = 'uncertain'`)
    worker.clock.set(new Date('2026-03-03T12:00:00Z'))
    expect(await run()).toMatchObject({ why: 'nothing to say' })
    worker.clock.set(new Date('2026-03-04T10:00:00Z'))
    await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
    await Promise.all([run(), run()])
    await run()
    expect(await sql(`SELECT count(*)::int AS n FROM message WHERE folded_into_id IS NOT NULL`)).toEqual([{ n: 2 }])
    expect((await messages()).map(({ state }) => state)).toEqual(['uncertain', 'uncertain', 'pending', 'pending'])
    await sql(`UPDATE message SET folded_into_id = NULL WHERE state = 'uncertain'`)
    await sql(`UPDATE message SET state = 'sent' WHERE state = 'pending'`)
    await sql(`UPDATE occurrence SET state = 'done', done_on = '2026-03-04', ended_on = '2026-03-04' WHERE id = ANY($1::uuid[])`, [
      ours.occurrenceIds,
    ])
    worker.clock.set(new Date('2026-03-05T10:00:00Z'))
    await sql(`UPDATE warehouse SET planned_on = '2026-03-05'`)
    expect(await run()).toMatchObject({ why: 'nothing to say' })
  })

  it('tells a technician of each issued work order once, again when it is issued anew, and not who does without', async () => {
    await sql(`UPDATE reminder SET dropped_reason = 'x'`)
    await sql(`UPDATE work_order SET state = 'issued', technician_id = $1, planned_on = '2026-03-05'`, [ours.technicianId])
    const [order] = await sql<{ id: string; number: number }>(`SELECT id, number FROM work_order`)
    await Promise.all([run(), run()])
    expect((await messages()).map(({ person_id, reminders }) => ({ person_id, reminders }))).toEqual([
      { person_id: ours.technicianId, reminders: 0 },
    ])
    const [first] = await messages()
    expect(await send(worker.parts, ours.organisationId, first!.id)).toBe('sent')
    const mail = await simpleParser(worker.sink.taken.at(-1)!.raw)
    expect(mail.subject).toBe('North, Tuesday 3 March: 1 work order issued to you')
    expect(mail.text?.replace(/\s+/g, ' ')).toMatch(new RegExp(`: work order ${order!.number}, .+; planned for 5 March\\.`))
    worker.clock.set(new Date('2026-03-04T10:00:00Z'))
    await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
    expect(await run()).toMatchObject({ messageIds: [] })
    // Returned and issued again: told again. Turned off: not.
    await sql(`UPDATE work_order SET state = 'drafted'`)
    await sql(`UPDATE work_order SET state = 'issued'`)
    await sql(`UPDATE person SET unwanted_kinds = '{work_orders}'`)
    expect(await run()).toMatchObject({ messageIds: [] })
    await sql(`UPDATE person SET unwanted_kinds = '{}'`)
    expect((await run()).messageIds).toHaveLength(1)
  })
})
