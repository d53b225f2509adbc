import { mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals'
import { deliveryReport } from '../../../../tests/support/bounces.js'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { simpleParser } from 'mailparser'
import { compose } from '../composing/compose-messages.js'
import { send } from '../sending/send-message.js'
import { sweep } from '../sweep/sweep.js'
import { readBounceFolder } from './read-folder.js'

// A busy machine takes ten times as long.
jest.setTimeout(60_000)

let worker: TestWorker
let ours: MailOrganisation
let folder: string
let messageId: string
let number = 0

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))
const deliver = (name: string, text: string) => writeFile(join(folder, 'new', name), text)
const refused = async () =>
  (
    await sql<{ address: string | null; reason: string | null }>(
      `SELECT mail_refused_address AS address, mail_refused_reason AS reason FROM person WHERE id = $1`,
      [ours.managerId],
    )
  )[0]
const bounces = () =>
  sql(`SELECT kind, status_code AS status, suppressed, message_id IS NOT NULL AS named FROM bounce WHERE source_key <> 'x' ORDER BY id`)

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'bounces-'))
  await mkdir(join(folder, 'new'))
  worker = await openTestWorker({ BOUNCE_FOLDER: folder })
})
afterAll(async () => {
  await worker.close()
  await rm(folder, { recursive: true })
})
beforeEach(async () => {
  worker.clock.set(MAIL_NOW)
  worker.sink.taken.length = 0
  worker.queue.jobs.length = 0
  ours = await insertMailOrganisation(worker.parts.database, `b${++number}`, { machines: 3, readers: 1 })
  messageId = (await compose(worker.parts, ours.organisationId, ours.warehouseId)).messageIds[0] as string
  expect(await send(worker.parts, ours.organisationId, messageId)).toBe('sent')
})

describe('a mail that came back', () => {
  it('for good: no more goes there, and the second person is told at once, by name, with what was open', async () => {
    const address = ours.readers[0]!.email
    await deliver('1', deliveryReport({ messageId, address }))
    expect(await readBounceFolder(worker.parts)).toBe(1)
    expect(await refused()).toMatchObject({ address, reason: expect.stringMatching(/^5\.1\.1 smtp; 550/) })
    expect(worker.queue.jobs.map(({ name }) => name)).toContain('compose_messages')
    const { messageIds } = await compose(worker.parts, ours.organisationId, ours.warehouseId)
    expect(messageIds).toHaveLength(1)
    expect(await send(worker.parts, ours.organisationId, messageIds[0]!)).toBe('sent')
    const mail = await simpleParser(worker.sink.taken[1]!.raw)
    expect(worker.sink.taken[1]!.to).toMatch(/^tom\./)
    expect(mail.subject).toBe('North: mail to Mara no longer arrives')
    expect(mail.text?.replace(/\s+/g, ' ')).toContain('Mail to Mara no longer arrives. 4 machines of North go to you until you choose.')
    expect(mail.text).toContain('M-b1-0001')
    // Once only: nothing is left to say.
    expect((await compose(worker.parts, ours.organisationId, ours.warehouseId)).messageIds).toEqual([])
  })

  it('is taken in once, however often it is delivered, and moved out of the way', async () => {
    const text = deliveryReport({ messageId, address: ours.readers[0]!.email, id: 'same' })
    await deliver('1', text)
    await deliver('2', text)
    expect(await readBounceFolder(worker.parts)).toBe(2)
    expect(await bounces()).toEqual([{ kind: 'hard', status: '5.1.1', suppressed: true, named: true }])
    expect(await readdir(join(folder, 'new'))).toEqual([])
    expect(await readBounceFolder(worker.parts)).toBe(0)
  })

  it('is told even where nothing of the mail is open any more', async () => {
    await sql(`UPDATE occurrence SET state = 'done', done_on = '2026-03-03', ended_on = '2026-03-03' WHERE state = 'open'`)
    await deliver('1', deliveryReport({ messageId, address: ours.readers[0]!.email }))
    await readBounceFolder(worker.parts)
    worker.queue.jobs.length = 0
    await sweep(worker.parts)
    const mine = worker.queue.jobs.filter(({ input }) => (input as { organisationId: string }).organisationId === ours.organisationId)
    expect(mine.map(({ name }) => name)).toContain('compose_messages')
    const { messageIds } = await compose(worker.parts, ours.organisationId, ours.warehouseId)
    expect(await send(worker.parts, ours.organisationId, messageIds[0]!)).toBe('sent')
    expect(worker.sink.taken[1]!.to).toMatch(/^tom\./)
  })

  it('five times softly within a week: then no more goes there either', async () => {
    const address = ours.readers[0]!.email
    for (let time = 1; time <= 5; time++) {
      worker.clock.set(new Date(MAIL_NOW.getTime() + time * 86_400_000))
      await deliver(`${time}`, deliveryReport({ messageId, address, status: '4.2.2' }))
      await readBounceFolder(worker.parts)
      expect((await refused())?.address).toBe(time < 5 ? null : address)
    }
  })

  it('counts for nothing where it names no mail of ours, or one that went to somebody else', async () => {
    await deliver('1', deliveryReport({ messageId: '018f0000-0000-7000-8000-0000000000ff', address: ours.readers[0]!.email }))
    await deliver('2', deliveryReport({ messageId, address: `tom.b${number}@example.org` }))
    await deliver('3', 'no mail at all')
    await readBounceFolder(worker.parts)
    expect(await bounces()).toEqual([])
    expect(await refused()).toEqual({ address: null, reason: null })
  })
})
