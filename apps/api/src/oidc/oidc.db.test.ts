/** Sign-in by a real provider on this computer: code flow with PKCE, state and nonce; only invited people, by an address that it vouches for. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId, type OidcProvider, seal, unseal } from '@tapewarden/platform'
import { startProvider, type TestProvider } from '../../../../tests/support/oidc.js'
import { PASSWORD, type Reply, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

const SECRET = 'a key for tests only, 32 characters and more'
const BACK = 'http://tapewarden.example/signed-in-elsewhere'
let provider: TestProvider
let api: TestApi
let us: ApiOrganisation
let them: ApiOrganisation
/** Filled in when the organisation is there; the api holds this very list. */
const providers: OidcProvider[] = []

beforeAll(async () => {
  provider = await startProvider(BACK)
  api = await startTestApi('2026-05-04T08:00:00Z', { oidcProviders: providers })
  us = await makeOrganisation(api, 'ours')
  them = await makeOrganisation(api, 'theirs')
  const { issuer, clientId, clientSecret } = provider
  providers.push(
    { key: 'ours', name: 'Our own', organisationId: us.organisationId, issuer, clientId, clientSecret },
    { key: 'away', name: 'Away', organisationId: us.organisationId, issuer: 'http://127.0.0.1:9', clientId, clientSecret },
  )
})
afterAll(async () => {
  await provider?.stop()
  await api?.close()
})

interface Begun {
  cookie: string
  search: string
}
const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values as string[]))

/** As a browser would go: to the provider, where `who` signs in, and back. */
async function goThere(who: { sub: string; email: string; email_verified: boolean }): Promise<Begun> {
  await provider.signsIn(who)
  const begun = await api.anyone('POST', 'session/elsewhere/ours')
  expect(begun.status).toBe(200)
  expect(begun.body.url).toMatch(/code_challenge_method=S256/)
  expect(String(begun.headers['set-cookie'])).toMatch(/HttpOnly; SameSite=Lax/)
  const back = await provider.follow(begun.body.url, BACK)
  return { cookie: String(begun.headers['set-cookie']).split(';')[0] ?? '', search: new URL(back).search.slice(1) }
}
const finish = ({ cookie, search }: Begun): Promise<Reply> => api.anyone('POST', 'session/elsewhere', { search }, cookie ? { cookie } : {})
const enter = async (sub: string, email: string, verified = true): Promise<Reply> =>
  finish(await goThere({ sub, email, email_verified: verified }))

async function invited(more: object = {}): Promise<{ id: string; email: string }> {
  const email = `${newId()}@ours.example`
  const id = (await us.administrator('POST', 'people', { name: 'Nele', role: 'manager', email, ...more })).body.id
  expect((await us.administrator('POST', `people/${id}/invitations`)).status).toBe(201)
  return { id, email }
}
const sessions = async (): Promise<number> => (await sql('SELECT id FROM session')).length

describe('somebody who signs in elsewhere', () => {
  it('finds the ways that this installation has, without a secret in them', async () => {
    const { body } = await api.anyone('GET', 'session/ways')
    expect(body.items).toContainEqual({ key: 'ours', name: 'Our own' })
    expect(JSON.stringify(body)).not.toContain(provider.clientSecret)
  })

  it('is the person who was invited under the address that is vouched for, and from then on whoever they are there', async () => {
    const { id, email } = await invited()
    const first = await enter('sub-1', email.toUpperCase())
    expect(first).toMatchObject({ status: 200, body: { person: { id } } })
    const cookies = [first.headers['set-cookie']].flat().map(String)
    expect(cookies.some((text) => /^tapewarden_session=[\w-]{43}; .*HttpOnly/.test(text))).toBe(true)
    expect(cookies.some((text) => text.startsWith('tapewarden_elsewhere=;'))).toBe(true)
    expect(await enter('sub-1', 'renamed@ours.example', false)).toMatchObject({ status: 200, body: { person: { id } } })
    expect(await sql('SELECT id FROM account_link WHERE person_id = $1 AND used_at IS NULL', [id])).toEqual([])
    const history = await sql(`SELECT action, after ->> 'by' AS by FROM audit_entry WHERE person_id = $1 ORDER BY id`, [id])
    expect(history).toEqual([
      { action: 'link sign-in', by: null },
      { action: 'sign in', by: 'sign-in of Our own' },
      { action: 'sign in', by: 'sign-in of Our own' },
    ])
  })

  it('is nobody without invitation, without a vouched-for address, under another’s, of another organisation, or when disabled', async () => {
    const before = await sessions()
    const { id, email } = await invited()
    const refused = { status: 401, body: { code: 'SIGN_IN_REFUSED' } }
    expect(await enter('sub-2', email, false)).toMatchObject(refused)
    expect(await enter('sub-3', 'technician@ours.example')).toMatchObject(refused)
    expect(await enter('sub-4', 'administrator@theirs.example')).toMatchObject(refused)
    expect(await enter('sub-5', 'nobody@ours.example')).toMatchObject(refused)
    expect(await sessions()).toBe(before)
    expect((await enter('sub-6', email)).status).toBe(200)
    expect(await enter('sub-7', email)).toMatchObject(refused)
    await us.administrator('PATCH', `people/${id}`, { disabled: true })
    expect(await enter('sub-6', email)).toMatchObject(refused)
    expect((await sql('SELECT subject FROM external_identity WHERE person_id = $1', [id])).map(({ subject }) => subject)).toEqual(['sub-6'])
    expect(await api.database.withOrganisationSql(them.organisationId, (scope) => scope.rows('SELECT * FROM external_identity'))).toEqual(
      [],
    )
  })

  it('loses it when an administrator takes ways of signing in away', async () => {
    const { id, email } = await invited()
    expect((await enter('sub-8', email)).status).toBe(200)
    await us.administrator('DELETE', `people/${id}/factors`)
    expect(await sql('SELECT 1 FROM external_identity WHERE person_id = $1', [id])).toEqual([])
  })
})

describe('what comes back', () => {
  const kept = (cookie: string): Record<string, unknown> =>
    JSON.parse(unseal(SECRET, 'sign-in elsewhere', 'cookie', Buffer.from(cookie.split('=')[1] ?? '', 'base64url')) ?? '')
  const sealed = (content: object): string =>
    `tapewarden_elsewhere=${seal(SECRET, 'sign-in elsewhere', 'cookie', JSON.stringify(content)).toString('base64url')}`

  it('counts once, and only in the browser that began', async () => {
    const { email } = await invited()
    const begun = await goThere({ sub: 'sub-10', email, email_verified: true })
    expect((await finish({ ...begun, cookie: '' })).status).toBe(401)
    const other = await goThere({ sub: 'sub-11', email: 'x@ours.example', email_verified: true })
    expect((await finish({ ...begun, cookie: other.cookie })).status).toBe(401)
    const again = await goThere({ sub: 'sub-10', email, email_verified: true })
    expect((await finish(again)).status).toBe(200)
    expect((await finish(again)).status).toBe(401)
  })

  const changes: [string, (begun: Record<string, unknown>) => object][] = [
    ['state', (begun) => ({ ...begun, state: 'another state that nobody sent' })],
    ['nonce', (begun) => ({ ...begun, nonce: 'another nonce that nobody sent' })],
    ['verifier of PKCE', (begun) => ({ ...begun, verifier: 'v'.repeat(43) })],
    ['time', (begun) => ({ ...begun, endsMs: Date.now() - 1 })],
  ]
  it.each(changes)('with another %s is refused', async (_what, change) => {
    const { email } = await invited()
    const begun = await goThere({ sub: newId(), email, email_verified: true })
    expect((await finish({ ...begun, cookie: sealed(change(kept(begun.cookie))) })).status).toBe(401)
  })

  it.each([
    ['a refusal there', 'error=access_denied&state=x'],
    ['nonsense', 'code=%00&state=%ff'],
  ])('as %s is a refusal here', async (_what, search) => {
    const begun = await goThere({ sub: newId(), email: 'x@ours.example', email_verified: true })
    expect((await finish({ ...begun, search })).status).toBe(401)
  })

  it('from a cookie that was not sealed here is nothing', async () => {
    expect((await finish({ cookie: 'tapewarden_elsewhere=abc', search: 'code=1&state=2' })).status).toBe(401)
  })
})

it('says so when the provider does not answer, or is none; the password goes on', async () => {
  expect(await api.anyone('POST', 'session/elsewhere/away')).toMatchObject({ status: 503, body: { code: 'PROVIDER_AWAY' } })
  expect((await api.anyone('POST', 'session/elsewhere/nobody')).status).toBe(404)
  expect((await api.anyone('POST', 'session', { email: 'manager@ours.example', password: PASSWORD })).status).toBe(200)
})
