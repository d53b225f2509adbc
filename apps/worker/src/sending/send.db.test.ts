import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { simpleParser } from 'mailparser'
import { readRoundLink, readUnsubscribeLink } from '@tapewarden/platform'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { compose } from '../composing/compose-messages.js'
import { sweep } from '../sweep/sweep.js'
import { type Claimed, claimMessage, markHandingOver, markSent } from './claim.js'
import { lotsOf } from './lots.js'
import { send } from './send-message.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation
let messageId: string
let number = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const run = () => send(worker.parts, ours.organisationId, messageId)
const message = async () =>
  (
    await sql<{
      state: string
      attempts: number
      last_error: string | null
      send_after: Date
      to_address: string | null
      subject: string | null
    }>('SELECT * FROM message WHERE id = $1', [messageId])
  )[0]!
/** As if the time of a lease had passed. */
const endLease = () => sql(`UPDATE message SET lease_until = clock_timestamp() - interval '1 second' WHERE lease_until IS NOT NULL`)

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.sink.taken.length = 0
  worker.sink.fault = () => null
  worker.parts.crash = () => undefined
  ours = await insertMailOrganisation(worker.parts.database, `s${++number}`, { machines: 3, readers: 1 })
  messageId = (await compose(worker.parts, ours.organisationId, ours.warehouseId)).messageIds[0] as string
})

describe('sending', () => {
  it('sends one mail, run twice and twice at once', async () => {
    const outcomes = await Promise.all([run(), run(), run()])
    expect(outcomes.sort()).toEqual(['not to be sent now', 'not to be sent now', 'sent'])
    expect(await run()).toBe('not to be sent now')
    expect(worker.sink.taken).toHaveLength(1)
    expect(await message()).toMatchObject({ state: 'sent', attempts: 1, to_address: ours.readers[0]?.email })
  })

  it('hands over once where a worker that stood still takes its own job again and both come in one lot', async () => {
    const { take, write } = lotsOf(worker.parts)
    const takeIt = async (): Promise<Claimed> => {
      const taken = await take.add(ours.organisationId, messageId)
      if (typeof taken === 'string') throw new Error(taken)
      return taken.claimed
    }
    const first = await takeIt()
    await endLease()
    const second = await takeIt()
    expect(second.fencing).toBe(first.fencing + 1)
    const mail = { toAddress: 'mara@example.org', subject: 'Care', content: {} }
    const both = [first, second].map((claimed) =>
      write.add(ours.organisationId, { do: 'hand over', handing: { claimed, now: MAIL_NOW, mail } }),
    )
    expect(await Promise.all(both)).toEqual([false, true])
    const attempt = { now: MAIL_NOW, address: mail.toAddress, outcome: { outcome: 'sent', response: '250' } } as const
    const ends = [first, second].map((claimed) => write.add(ours.organisationId, { do: 'record', attempt: { ...attempt, claimed } }))
    expect(await Promise.all(ends)).toEqual([false, true])
  })

  it('has the headers of a mail that nobody answers and anyone may turn off, and an id made from the row', async () => {
    await run()
    const mail = await simpleParser(worker.sink.taken[0]?.raw ?? '')
    expect(mail.messageId).toBe(`<message-${messageId}@care.example>`)
    const lines = Object.fromEntries(mail.headerLines.map(({ key, line }) => [key, line.slice(line.indexOf(':') + 2)]))
    expect(lines['auto-submitted']).toBe('auto-generated')
    expect(lines['list-unsubscribe-post']).toBe('List-Unsubscribe=One-Click')
    const token = /^<https:\/\/care\.example\/unsubscribe\/([\w-]+)>$/.exec(lines['list-unsubscribe'] ?? '')?.[1] ?? ''
    expect(readUnsubscribeLink(worker.parts.settings.SECRET_KEY, token)).toEqual({
      organisationId: ours.organisationId,
      personId: ours.managerId,
    })
    expect(mail.attachments.map(({ filename, contentType }) => [filename, contentType])).toEqual([['care.ics', 'text/calendar']])
    for (const line of (worker.sink.taken[0]?.raw ?? '').split('\r\n')) expect(line.length).toBeLessThanOrEqual(998)
  })

  it('gives the round’s link as the reader’s own', async () => {
    await sql(`UPDATE reminder SET stage = 'month_list'`)
    await run()
    const token = /#round=([\w-]+)/.exec((await simpleParser(worker.sink.taken[0]?.raw ?? '')).text ?? '')?.[1] ?? ''
    expect(readRoundLink(worker.parts.settings.SECRET_KEY, token, MAIL_NOW)).toEqual({
      organisationId: ours.organisationId,
      warehouseId: ours.warehouseId,
      personId: ours.managerId,
      month: '2026-03',
      expiresAt: new Date('2026-04-01T00:00:00Z'),
    })
  })

  it('leaves out what was done since it was composed, and sends nothing where nothing is left', async () => {
    await sql(`UPDATE occurrence SET state = 'done', done_on = '2026-03-03', ended_on = '2026-03-03' WHERE id = ANY($1::uuid[])`, [
      ours.occurrenceIds,
    ])
    expect(await run()).toBe('ended: nothing of it is open any more')
    expect(worker.sink.taken).toEqual([])
    expect(await message()).toMatchObject({ state: 'expired' })
  })

  it('keeps a mail for later on 4xx, with growing waits, and sends it once then', async () => {
    worker.sink.fault = (phase) => (phase === 'rcpt' ? '4xx' : null)
    expect(await run()).toMatch(/^returned: .*451/)
    expect(await message()).toMatchObject({ state: 'pending', attempts: 1, send_after: new Date(MAIL_NOW.getTime() + 60_000) })
    expect(await run()).toBe('not to be sent now')
    worker.clock.set(new Date(MAIL_NOW.getTime() + 60_000))
    await run()
    expect((await message()).send_after).toEqual(new Date(MAIL_NOW.getTime() + 180_000))
    worker.sink.fault = () => null
    worker.clock.set(new Date(MAIL_NOW.getTime() + 180_000))
    expect(await run()).toBe('sent')
    expect(worker.sink.taken).toHaveLength(1)
  })

  it('stops on 5xx and says why', async () => {
    worker.sink.fault = (phase) => (phase === 'data' ? '5xx' : null)
    expect(await run()).toMatch(/^refused: .*550/)
    expect(await message()).toMatchObject({ state: 'failed' })
    await sweep(worker.parts)
    expect(await run()).toBe('not to be sent now')
    expect(await sql('SELECT 1 FROM person WHERE mail_refused_address IS NOT NULL')).toEqual([])
  })

  it('tells the second person at once, by name and once, where the address takes no mail', async () => {
    worker.sink.fault = (phase, to) => (phase === 'rcpt' && to === ours.readers[0]?.email ? '5xx' : null)
    worker.queue.jobs.length = 0
    expect(await run()).toMatch(/^refused: .*550/)
    expect(worker.queue.jobs.map(({ name }) => name)).toEqual(['compose_messages'])
    const again = () => compose(worker.parts, ours.organisationId, ours.warehouseId)
    const [both] = await Promise.all([again(), again()])
    await again()
    const [next] = await sql<{ id: string; person_id: string; class_key: string }>(
      `SELECT id, person_id, class_key FROM message WHERE state = 'pending'`,
    )
    expect(next).toMatchObject({ person_id: ours.technicianId, class_key: `hand_over ${ours.managerId}` })
    expect(both).toBeDefined()
    expect(await send(worker.parts, ours.organisationId, next?.id ?? '')).toBe('sent')
    const mail = await simpleParser(worker.sink.taken[0]?.raw ?? '')
    expect(mail.subject).toBe('North: mail to Mara no longer arrives')
    expect((mail.text ?? '').replace(/\s+/g, ' ')).toContain(
      'Mail to Mara no longer arrives. 4 machines of North go to you until you choose.',
    )
    // A new reminder for the same person is no news any more: it stands in the second person's digest.
    await sql(`UPDATE reminder SET message_id = NULL WHERE occurrence_id = $1`, [ours.occurrenceIds[0]])
    await again()
    expect(await sql(`SELECT person_id, class FROM message WHERE state = 'pending'`)).toEqual([
      { person_id: ours.technicianId, class: 'digest' },
    ])
    // With another address the person is written to again.
    await sql(`UPDATE person SET email = $2 WHERE id = $1`, [ours.managerId, `new.${number}@example.org`])
    await sql(`UPDATE reminder SET message_id = NULL WHERE occurrence_id = $1`, [ours.occurrenceIds[1]])
    worker.clock.set(new Date('2026-03-04T10:00:00Z'))
    await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
    await again()
    expect(await sql(`SELECT 1 FROM message WHERE state = 'pending' AND person_id = $1`, [ours.managerId])).toHaveLength(1)
  })

  it('loses nothing where the reader is disabled between composing and sending', async () => {
    await sql('UPDATE person SET disabled_at = now() WHERE id = $1', [ours.managerId])
    expect(await run()).toBe('ended: the person can have no mail')
    await compose(worker.parts, ours.organisationId, ours.warehouseId)
    expect(
      await sql(
        `SELECT person_id, (SELECT count(*)::int FROM reminder r WHERE r.message_id = m.id) AS held FROM message m WHERE state = 'pending'`,
      ),
    ).toEqual([{ person_id: ours.technicianId, held: 3 }])
  })

  it.each(['accept_then_reset', 'accept_then_silence'] as const)(
    'is uncertain on %s, is never sent again, and is told once more the next working day',
    async (fault) => {
      worker.sink.fault = (phase) => (phase === 'dot' ? fault : null)
      expect(await run()).toMatch(/^uncertain/)
      await sweep(worker.parts)
      expect(await run()).toBe('not to be sent now')
      expect(worker.sink.taken).toHaveLength(1)
      worker.sink.fault = () => null
      worker.clock.set(new Date('2026-03-04T10:00:00Z'))
      await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
      const [next] = (await compose(worker.parts, ours.organisationId, ours.warehouseId)).messageIds
      expect(await send(worker.parts, ours.organisationId, next ?? '')).toBe('sent')
      expect((await simpleParser(worker.sink.taken[1]?.raw ?? '')).text).toContain('You may have had this already')
    },
  )

  it('is free again when its holder died before handing it over, and uncertain when it died after', async () => {
    const first = await worker.parts.database.withOrganisationSql(ours.organisationId, (scope) =>
      claimMessage(scope, messageId, MAIL_NOW, 60),
    )
    expect(await run()).toBe('not to be sent now')
    await endLease()
    expect(await sweep(worker.parts)).toMatchObject({ released: 1, uncertain: 0 })
    const second = await worker.parts.database.withOrganisationSql(ours.organisationId, (scope) =>
      claimMessage(scope, messageId, MAIL_NOW, 60),
    )
    const over = (claimed: typeof first) =>
      worker.parts.database.withOrganisationSql(ours.organisationId, (scope) =>
        markHandingOver(scope, claimed!, { toAddress: 'a@b.example', subject: 's', content: {} }, MAIL_NOW, 60),
      )
    expect(await over(first)).toBe(false)
    expect(await over(second)).toBe(true)
    await endLease()
    expect(await sweep(worker.parts)).toMatchObject({ released: 0, uncertain: 1 })
    expect(await run()).toBe('not to be sent now')
    // The holder was only slow: what it knows for certain counts, and only its own number does.
    const mark = (claimed: typeof first) =>
      worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => markSent(scope, claimed!, MAIL_NOW))
    expect(await mark(first)).toBe(false)
    expect(await mark(second)).toBe(true)
    expect(await message()).toMatchObject({ state: 'sent' })
  })

  it('ends what could not be sent in two days, and gives its reminders to the next digest', async () => {
    worker.clock.set(new Date(MAIL_NOW.getTime() + 48 * 3_600_000))
    await sweep(worker.parts)
    expect(await message()).toMatchObject({ state: 'expired' })
    await sql(`UPDATE warehouse SET planned_on = '2026-03-05'`)
    const [next] = (await compose(worker.parts, ours.organisationId, ours.warehouseId)).messageIds
    expect(next).not.toBe(messageId)
    expect(await send(worker.parts, ours.organisationId, next ?? '')).toBe('sent')
  })
})
