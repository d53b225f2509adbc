import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId, signAccountLink } from '@tapewarden/platform'
import { PASSWORD, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

const SECRET = 'a key for tests only, 32 characters and more'
const NEW = 'a kettle on the fourth shelf'
let api: TestApi
let us: ApiOrganisation

const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))
const links = (personId: string) =>
  sql<{ id: string; kind: string; used: boolean }>(
    'SELECT id, kind, used_at IS NOT NULL AS used FROM account_link WHERE person_id = $1 ORDER BY created_at',
    [personId],
  )
const tokenOf = (linkId: string, organisationId = us.organisationId) => signAccountLink(SECRET, { organisationId, linkId })
const use = (token: string, newPassword = NEW) => api.anyone('POST', 'account-links/use', { token, newPassword })
const look = (token: string) => api.anyone('POST', 'account-links/look', { token })
const invite = (personId: string) => us.administrator('POST', `people/${personId}/invitations`)
async function newcomer(more: object = {}): Promise<string> {
  const reply = await us.administrator('POST', 'people', { name: 'Nele', role: 'technician', email: `${newId()}@ours.example`, ...more })
  return reply.body.id
}
async function reset(email: string): Promise<void> {
  const before = (await sql('SELECT id FROM account_link')).length
  expect(await api.anyone('POST', 'password-resets', { email })).toMatchObject({ status: 200, body: { done: true } })
  for (let n = 0; n < 100 && (await sql('SELECT id FROM account_link')).length === before; n++)
    await new Promise((done) => setTimeout(done, 20))
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
})
afterAll(() => api.close())

describe('an invitation', () => {
  it('goes out as a mail, shows whose it is, lets one choose a password once, and then sign in', async () => {
    const personId = await newcomer({ email: 'nele@ours.example' })
    const sent = await invite(personId)
    expect(sent.status).toBe(201)
    const daysLeft = (Date.parse(sent.body.expiresAt) - (await api.database.askTime()).getTime()) / 86_400_000
    expect(daysLeft).toBeCloseTo(7, 2)
    const [link] = await links(personId)
    const messages = await sql('SELECT class, class_key, state, content FROM message WHERE person_id = $1', [personId])
    expect(messages).toEqual([{ class: 'account', class_key: link!.id, state: 'pending', content: { kind: 'account' } }])
    const token = tokenOf(link!.id)
    expect(JSON.stringify([messages, await sql('SELECT * FROM account_link')])).not.toContain(token)
    expect((await look(token)).body).toEqual({
      kind: 'invitation',
      personName: 'Nele',
      email: 'nele@ours.example',
      organisationName: 'ours',
    })
    expect(await use(token)).toMatchObject({ status: 200, body: { done: true } })
    expect(await use(token, 'quite another password')).toMatchObject({ status: 422, body: { code: 'LINK_ENDED' } })
    expect((await api.anyone('POST', 'session', { email: 'nele@ours.example', password: NEW })).status).toBe(200)
    const history = await sql(`SELECT action, actor FROM audit_entry WHERE subject_id = $1 ORDER BY id`, [personId])
    expect(history).toEqual([
      { action: 'create', actor: 'administrator' },
      { action: 'invite', actor: 'administrator' },
      { action: 'set password', actor: 'Nele' },
    ])
  })

  it('works once, however many come at once', async () => {
    const personId = await newcomer()
    await invite(personId)
    const token = tokenOf((await links(personId))[0]!.id)
    const replies = await Promise.all(Array.from({ length: 8 }, (_unused, n) => use(token, `password number ${n} of eight`)))
    expect(replies.filter(({ status }) => status === 200)).toHaveLength(1)
    expect(replies.filter(({ status }) => status === 422)).toHaveLength(7)
  })

  it('sent again ends the earlier one', async () => {
    const personId = await newcomer()
    await invite(personId)
    await invite(personId)
    expect(await links(personId)).toMatchObject([{ used: true }, { used: false }])
    expect((await look(tokenOf((await links(personId))[0]!.id))).status).toBe(422)
  })

  it('ends with its time, with the person, and is nothing when forged or of another organisation', async () => {
    const personId = await newcomer()
    await invite(personId)
    const { id } = (await links(personId))[0]!
    const forged = tokenOf(id).replace(/.$/, (last) => (last === 'A' ? 'Q' : 'A'))
    for (const token of [forged, tokenOf(newId()), tokenOf(id, newId()), 'x']) {
      expect(await look(token)).toMatchObject({ status: 422, body: { code: 'LINK_ENDED' } })
      expect(await use(token)).toMatchObject({ status: 422, body: { code: 'LINK_ENDED' } })
    }
    await us.administrator('PATCH', `people/${personId}`, { disabled: true })
    expect((await use(tokenOf(id))).status).toBe(422)
    await us.administrator('PATCH', `people/${personId}`, { disabled: false })
    await sql(`UPDATE account_link SET expires_at = clock_timestamp() WHERE id = $1`, [id])
    expect((await use(tokenOf(id))).status).toBe(422)
  })

  it('needs an address and somebody who is let in', async () => {
    expect(await invite(await newcomer({ email: null }))).toMatchObject({ status: 422, body: { code: 'NO_ADDRESS' } })
    const personId = await newcomer()
    await us.administrator('PATCH', `people/${personId}`, { disabled: true })
    expect(await invite(personId)).toMatchObject({ status: 422, body: { code: 'PERSON_DISABLED' } })
  })
})

describe('a forgotten password', () => {
  it('is set anew by a mail that lives an hour; every session ends', async () => {
    await reset('TECHNICIAN@ours.example')
    const [link] = await links(us.people.technician)
    expect(link).toMatchObject({ kind: 'reset', used: false })
    expect((await us.technician('GET', 'me')).status).toBe(200)
    expect((await use(tokenOf(link!.id), 'password1234')).body.code).toBe('COMMON_PASSWORD')
    expect((await use(tokenOf(link!.id))).status).toBe(200)
    expect((await us.technician('GET', 'me')).status).toBe(401)
    expect((await api.anyone('POST', 'session', { email: 'technician@ours.example', password: PASSWORD })).status).toBe(401)
    expect((await api.anyone('POST', 'session', { email: 'technician@ours.example', password: NEW })).status).toBe(200)
    const told = await sql(`SELECT content -> 'facts' AS facts FROM message WHERE person_id = $1 AND class_key LIKE 'sign-in %'`, [
      us.people.technician,
    ])
    expect(told).toEqual([{ facts: { kind: 'sign_in_changed', change: 'password', by: '', at: '2026-05-04T08:00:00.000Z' } }])
  })

  it('is answered alike for nobody’s address, and sends nothing there or to a disabled person', async () => {
    const disabled = await newcomer({ email: 'gone@ours.example' })
    await us.administrator('PATCH', `people/${disabled}`, { disabled: true })
    const before = (await sql('SELECT id FROM account_link')).length
    for (const email of ['nobody@ours.example', 'gone@ours.example'])
      expect(await api.anyone('POST', 'password-resets', { email })).toMatchObject({ status: 200, body: { done: true } })
    await new Promise((done) => setTimeout(done, 300))
    expect((await sql('SELECT id FROM account_link')).length).toBe(before)
  })

  it('fills nobody’s mailbox: three mails an hour', async () => {
    for (let n = 0; n < 3; n++) await reset('instructed@ours.example')
    expect((await api.anyone('POST', 'password-resets', { email: 'instructed@ours.example' })).status).toBe(200)
    await new Promise((done) => setTimeout(done, 300))
    expect(await links(us.people.instructed)).toHaveLength(3)
  })
})

describe('passwords', () => {
  it.each(['Password123', 'qwertyuiop', 'tapewarden2026', 'aaaaaaaaaaaa', '1q2w3e4r5t6y'])('%s is refused', async (newPassword) => {
    const reply = await us.administrator('POST', `people/${us.people.manager}/password`, { newPassword })
    expect(reply).toMatchObject({ status: 422, body: { code: 'COMMON_PASSWORD', errors: [{ pointer: '/newPassword' }] } })
  })
  it.each(['four gray horses', 'ümläute sind erlaubt', 'x'.repeat(4) + ' long phrase ' + '5'.repeat(100)])(
    '%s is taken',
    async (newPassword) => {
      expect((await us.administrator('POST', `people/${us.people.manager}/password`, { newPassword })).status).toBe(200)
    },
  )
})
