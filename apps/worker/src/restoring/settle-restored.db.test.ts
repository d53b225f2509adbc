/** What a backup does not know may have been said already: after a restore it is told once, as such, and never as new. */
import { afterAll, beforeAll, beforeEach, expect, it, jest } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { simpleParser } from 'mailparser'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { compose } from '../composing/compose-messages.js'
import { send } from '../sending/send-message.js'
import { sweep } from '../sweep/sweep.js'
import { settleRestored } from './settle-restored.js'

jest.setTimeout(120_000)
let worker: TestWorker
let ours: MailOrganisation
let number = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
/** Everything that the worker would send now. */
async function sendAll(): Promise<void> {
  await sweep(worker.parts)
  await compose(worker.parts, ours.organisationId, ours.warehouseId)
  for (const { id } of await sql<{ id: string }>(`SELECT id FROM message WHERE state = 'pending'`))
    await send(worker.parts, ours.organisationId, id)
}

beforeAll(async () => {
  worker = await openTestWorker()
})
afterAll(() => worker.close())
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.sink.taken.length = 0
  ours = await insertMailOrganisation(worker.parts.database, `r${++number}`, { machines: 3, readers: 1 })
})

it.each([
  ['reminders that the backup has not put into a mail yet', false],
  ['a mail that was waiting in the backup', true],
])('%s are not sent on the day of the restore, and told once the next working day', async (_what, composed) => {
  if (composed) await compose(worker.parts, ours.organisationId, ours.warehouseId)
  const settled = await settleRestored(worker.parts)
  expect(settled.messages + settled.reminders).toBeGreaterThan(0)
  await sendAll()
  expect(worker.sink.taken).toEqual([])

  worker.clock.set(new Date('2026-03-04T10:00:00Z'))
  await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
  await sendAll()
  expect(worker.sink.taken).toHaveLength(1)
  const text = (await simpleParser(worker.sink.taken[0]?.raw ?? '')).text ?? ''
  expect(text).toContain('You may have had this already')
  await sendAll()
  expect(worker.sink.taken).toHaveLength(1)
})

it('without settling they would go out as new: the trial sees the difference', async () => {
  await sendAll()
  expect(worker.sink.taken).toHaveLength(1)
  expect((await simpleParser(worker.sink.taken[0]?.raw ?? '')).text).not.toContain('You may have had this already')
})

it('a work order that nobody has been told of here is told once, as such', async () => {
  await sql(`UPDATE reminder SET dropped_reason = 'x'`)
  const [machine] = await sql<{ id: string }>('SELECT machine_id AS id FROM occurrence WHERE id = $1', [ours.occurrenceIds[0]])
  await sql(
    `INSERT INTO work_order (organisation_id, id, number, machine_id, warehouse_id, technician_id, state, created_at) VALUES ($1, $2, 915, $3, $4, $5, 'issued', $6)`,
    [ours.organisationId, newId(), machine?.id, ours.warehouseId, ours.technicianId, MAIL_NOW],
  )
  await settleRestored(worker.parts)
  await sendAll()
  expect(worker.sink.taken).toEqual([])
  worker.clock.set(new Date('2026-03-04T10:00:00Z'))
  await sql(`UPDATE warehouse SET planned_on = '2026-03-04'`)
  await sendAll()
  await sendAll()
  const texts = await Promise.all(worker.sink.taken.map(async ({ raw }) => (await simpleParser(raw)).text?.replace(/\s+/g, ' ')))
  expect(texts).toEqual([expect.stringMatching(/You may have had this already.*work order 915/)])
})

it('links of accounts that were waiting end: nobody gets an old one', async () => {
  const id = newId()
  await sql(
    `INSERT INTO message (organisation_id, id, person_id, local_day, class, class_key, state, send_after, expires_at, created_at)
     VALUES ($1, $2, $3, '2026-03-03', 'account', 'x', 'pending', $4, $4::timestamptz + interval '1 day', $4)`,
    [ours.organisationId, id, ours.managerId, MAIL_NOW],
  )
  await settleRestored(worker.parts)
  expect(await sql('SELECT state FROM message WHERE id = $1', [id])).toEqual([{ state: 'expired' }])
})
