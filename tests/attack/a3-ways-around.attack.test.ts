/** A3: the ways beside the routes: links by mail, labels, calendars, and jobs that name what is not theirs. */
import { createHash } from 'node:crypto'
import { afterAll, beforeAll, expect, it, jest } from '@jest/globals'
import { newId, signAccountLink, signRoundLink, signUnsubscribeLink } from '@tapewarden/platform'
import { Client } from 'pg'
import { compose } from '../../apps/worker/src/composing/compose-messages.js'
import { planChunk, planWarehouse } from '../../apps/worker/src/planning/plan-warehouse.js'
import { send } from '../../apps/worker/src/sending/send-message.js'
import { startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { insertMailOrganisation, MAIL_NOW, MAIL_TODAY, type MailOrganisation } from '../support/mail-organisation.js'
import { openTestWorker, type TestWorker } from '../support/worker-parts.js'
import { report } from './report.js'

jest.setTimeout(300_000)
const SECRET = 'a key for tests only, 32 characters and more'
let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
let tried = 0

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
})
afterAll(async () => {
  report('A3', 'links, labels, calendars and jobs that name what is another organisation’s', { tried })
  await api.close()
})

it('a round’s link opens nothing of another organisation, however its parts are put together', async () => {
  const expiresAt = new Date('2026-06-01T00:00:00Z')
  const mixed = [
    { organisationId: us.organisationId, warehouseId: them.north, personId: us.people.technician },
    { organisationId: us.organisationId, warehouseId: us.north, personId: them.people.technician },
    { organisationId: them.organisationId, warehouseId: us.north, personId: us.people.technician },
    { organisationId: newId(), warehouseId: us.north, personId: us.people.technician },
  ]
  for (const parts of mixed) {
    const link = signRoundLink(SECRET, { ...parts, month: '2026-05', expiresAt })
    const reply = await api.anyone('GET', 'linked-round', undefined, { 'x-round-link': link })
    tried += 1
    expect([401, 404]).toContain(reply.status)
    expect(JSON.stringify(reply.body)).not.toContain(them.machineId)
  }
})

it('a label of another organisation is as unknown as none', async () => {
  await api.database.withOrganisationSql(them.organisationId, (scope) =>
    scope.run(`UPDATE machine SET label_code = 'ONLY-THEIRS' WHERE organisation_id = $1 AND id = $2`, [
      them.organisationId,
      them.machineId,
    ]),
  )
  const [theirs, none] = await Promise.all(['ONLY-THEIRS', 'NO-SUCH'].map((code) => us.technician('GET', `machine-labels/${code}`)))
  tried += 1
  expect(theirs?.status).toBe(404)
  expect({ ...theirs?.body, instance: '' }).toEqual({ ...none?.body, instance: '' })
})

it('links of accounts and of unsubscribing do nothing across organisations', async () => {
  await them.administrator('POST', `people/${them.people.manager}/invitations`)
  const [{ id }] = (await api.database.withOrganisationSql(them.organisationId, (scope) => scope.rows('SELECT id FROM account_link'))) as [
    { id: string },
  ]
  const token = signAccountLink(SECRET, { organisationId: us.organisationId, linkId: id })
  expect((await api.anyone('POST', 'account-links/use', { token, newPassword: 'a kettle on the fourth shelf' })).status).toBe(422)
  const unsubscribe = signUnsubscribeLink(SECRET, { organisationId: us.organisationId, personId: them.people.manager })
  await api.anyone('POST', `/unsubscribe/${unsubscribe}`, '', { 'content-type': 'application/x-www-form-urlencoded' })
  tried += 2
  const rows = await api.database.withOrganisationSql(them.organisationId, (scope) =>
    scope.rows('SELECT reminder_mail FROM person WHERE id = $1', [them.people.manager]),
  )
  expect(rows).toEqual([{ reminder_mail: true }])
})

it('a calendar’s address shows its own organisation’s warehouse, and a changed one nothing', async () => {
  const feed = await us.manager('POST', 'me/calendar-feeds', { warehouseId: us.north })
  expect(feed.status).toBe(201)
  const url = new URL(String(feed.body.url ?? feed.body.address))
  const own = await api.anyone('GET', url.pathname)
  expect(own.status).toBe(200)
  for (const id of [them.machineId, them.north, them.organisationId]) expect(String(own.body)).not.toContain(id)
  const turned = url.pathname.replace(/[\w-]{20}(?=\.|$)/, (text) => Array.from(text).toReversed().join(''))
  expect((await api.anyone('GET', turned)).status).toBe(404)
  expect((await us.manager('POST', 'me/calendar-feeds', { warehouseId: them.north })).status).toBe(404)
  tried += 3
})

it('jobs that name another organisation’s warehouse, machines or message change and send nothing', async () => {
  const worker: TestWorker = await openTestWorker()
  const owner = new Client({ connectionString: worker.test.ownerUrl })
  await owner.connect()
  try {
    const ours = await insertMailOrganisation(worker.parts.database, 'ours', { machines: 1, readers: 1 })
    const theirs: MailOrganisation = await insertMailOrganisation(worker.parts.database, 'theirs', { machines: 2, readers: 2 })
    worker.clock.set(MAIL_NOW)
    const messageId = (await compose(worker.parts, theirs.organisationId, theirs.warehouseId)).messageIds[0] as string
    const state = async (): Promise<string> => {
      const hash = createHash('sha256')
      for (const table of [
        'message',
        'reminder',
        'occurrence',
        'forecast',
        'ledger_day',
        'planning_chunk',
        'warehouse',
        'work_order',
        'machine',
      ])
        hash.update(
          JSON.stringify(
            (await owner.query(`SELECT * FROM ${table} t WHERE organisation_id = $1 ORDER BY t::text`, [theirs.organisationId])).rows,
          ),
        )
      return hash.digest('hex')
    }
    const before = await state()
    const { organisationId } = ours
    const attempts = [
      () => planWarehouse(worker.parts).handle({ v: 1, organisationId, warehouseId: theirs.warehouseId }),
      () =>
        planChunk(worker.parts).handle({
          v: 1,
          organisationId,
          warehouseId: theirs.warehouseId,
          plannedFor: MAIL_TODAY,
          evidenceVersion: 1,
          position: 0,
        }),
      () => compose(worker.parts, organisationId, theirs.warehouseId),
      () => send(worker.parts, organisationId, messageId),
      () => send(worker.parts, newId(), messageId),
    ]
    for (const attempt of attempts) {
      tried += 1
      await attempt().catch(() => undefined)
    }
    expect(await state()).toBe(before)
    expect(worker.sink.taken).toEqual([])
    expect(await send(worker.parts, theirs.organisationId, messageId)).toBe('sent')
  } finally {
    await owner.end()
    await worker.close()
  }
})
