import { afterAll, beforeAll, expect, it, jest } from '@jest/globals'
import { newId, readAccountLink } from '@tapewarden/platform'
import { simpleParser } from 'mailparser'
import { insertMailOrganisation, MAIL_NOW, type MailOrganisation } from '../../../../tests/support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../../../../tests/support/worker-parts.js'
import { send } from './send-message.js'

jest.setTimeout(60_000)
let worker: TestWorker
let ours: MailOrganisation

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  worker.parts.database.withOrganisationSql(ours.organisationId, (scope) => scope.rows<Row>(text, values as never))

async function link(kind: string, expires = '7 days'): Promise<{ id: string; messageId: string }> {
  const [id, messageId] = [newId(), newId()]
  await sql(
    `INSERT INTO account_link (organisation_id, id, person_id, kind, invited_by, created_at, expires_at)
     VALUES ($1, $2, $3, $4, 'Ada', clock_timestamp(), clock_timestamp() + $5::interval)`,
    [ours.organisationId, id, ours.managerId, kind, expires],
  )
  await sql(
    `INSERT INTO message (organisation_id, id, person_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     VALUES ($1, $2, $3, $4, 'account', $5, 'pending', $6, $6::timestamptz + interval '1 day', '{"kind": "account"}', $6)`,
    [ours.organisationId, messageId, ours.managerId, MAIL_NOW.toISOString().slice(0, 10), id, MAIL_NOW],
  )
  return { id, messageId }
}

beforeAll(async () => {
  worker = await openTestWorker()
  worker.clock.set(MAIL_NOW)
  ours = await insertMailOrganisation(worker.parts.database, 'accounts', { machines: 1, readers: 1 })
})
afterAll(() => worker.close())

it.each(['invitation', 'reset'])('an %s goes out once, with a link of its own that is kept nowhere', async (kind) => {
  worker.sink.taken.length = 0
  const { id, messageId } = await link(kind)
  expect((await Promise.all([1, 2].map(() => send(worker.parts, ours.organisationId, messageId)))).sort()).toEqual([
    'not to be sent now',
    'sent',
  ])
  const mail = await simpleParser(worker.sink.taken[0]?.raw ?? '')
  const token = /\/account-link#([\w-]{86})/.exec((mail.text ?? '').replace(/=\n/g, ''))?.[1] ?? ''
  expect(readAccountLink(worker.parts.settings.SECRET_KEY, token)).toEqual({ organisationId: ours.organisationId, linkId: id })
  expect(mail.headers.has('list-unsubscribe')).toBe(false)
  expect(mail.attachments).toEqual([])
  expect(mail.text).toContain(kind === 'reset' ? 'one hour' : 'Ada')
  expect(JSON.stringify(await sql('SELECT * FROM message'))).not.toContain(token)
})

it('is not sent when its link has ended meanwhile', async () => {
  const { messageId } = await link('reset', '-1 second')
  expect(await send(worker.parts, ours.organisationId, messageId)).toBe('ended: the link has ended')
})
