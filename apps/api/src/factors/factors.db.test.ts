import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { createHash, randomBytes } from 'node:crypto'
import { Authenticator, type Lies } from '../../../../tests/support/authenticator.js'
import { type Ask, PASSWORD, personRow, type Reply, seed, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { waitAfter } from './check-code.js'
import { totpAt } from './totp.js'

let api: TestApi
const organisationId = newId()
const root = personRow('administrator', 'root@north.example')
const origin = 'http://tapewarden.example'
let people = 0
let email: string
let personId: string
let mara: Ask
let administrator: Ask

const sql = <Row extends Record<string, unknown>>(text: string, values: unknown[] = []) =>
  api.database.withOrganisationSql(organisationId, (scope) => scope.rows<Row>(text, values as string[]))
const signIn = (code?: string, password = PASSWORD): Promise<Reply> =>
  api.anyone('POST', 'session', { email, password, ...(code === undefined ? {} : { code }) })
const nowMs = async () => (await api.database.askTime()).getTime()
/** Of the step after the last one that was taken: no test waits half a minute. */
const codeOf = async (secret: string, steps = 0) => totpAt(secret, (await nowMs()) + steps * 30_000)
/** As if that long had gone by since the last code. */
const forgetStep = () => sql('UPDATE second_factor SET last_step = 0 WHERE person_id = $1', [personId])

/** Without a password: hashing one is most of the time that these trials take. */
async function session(): Promise<Ask> {
  const token = randomBytes(32).toString('base64url')
  await sql(
    `INSERT INTO session (organisation_id, id, person_id, token_hash, created_at, last_seen_at, expires_at)
     VALUES ($1, $2, $3, $4, clock_timestamp(), clock_timestamp(), clock_timestamp() + interval '1 day')`,
    [organisationId, newId(), personId, createHash('sha256').update(token).digest()],
  )
  return (method, path, body, headers = {}) => api.anyone(method, path, body, { cookie: `tapewarden_session=${token}`, ...headers })
}

async function turnOn(): Promise<{ secret: string; recoveryCodes: string[] }> {
  const { secret } = (await mara('POST', 'me/codes', { currentPassword: PASSWORD })).body
  const confirmed = await mara('POST', 'me/codes/confirmation', { code: await codeOf(secret) })
  expect(confirmed.status).toBe(200)
  return { secret, recoveryCodes: confirmed.body.recoveryCodes }
}

/** What mails wait for this person about their ways of signing in. */
const told = async (): Promise<string[]> =>
  (
    await sql<{ change: string; by: string }>(
      `SELECT content -> 'facts' ->> 'change' AS change, content -> 'facts' ->> 'by' AS by FROM message
       WHERE person_id = $1 AND content ->> 'kind' = 'sign_in_changed' AND state = 'pending' ORDER BY id`,
      [personId],
    )
  ).map(({ change, by }) => (by === '' ? change : `${change} by ${by}`))

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  await seed(api, organisationId, {
    organisation: [{ id: organisationId, name: 'North Ltd', created_at: '2026-01-01T00:00:00Z' }],
    person: [root],
  })
  administrator = await api.signIn('root@north.example')
})
afterAll(() => api.close())
beforeEach(async () => {
  email = `mara${++people}@north.example`
  const person = personRow('manager', email)
  personId = person.id
  await seed(api, organisationId, { person: [person] })
  mara = await session()
})

describe('one-time codes', () => {
  it('are begun with the password, and count once the first was shown', async () => {
    expect(await mara('POST', 'me/codes', { currentPassword: 'not this one' })).toMatchObject({
      status: 422,
      body: { code: 'PASSWORD_WRONG' },
    })
    const begun = (await mara('POST', 'me/codes', { currentPassword: PASSWORD })).body
    expect(begun.uri).toContain(`secret=${begun.secret}`)
    expect(Buffer.from(begun.picture.split(',')[1], 'base64').toString()).toMatch(/^<svg /)
    expect((await signIn()).status).toBe(200)
    const wrong = String((Number(await codeOf(begun.secret)) + 500_000) % 1_000_000).padStart(6, '0')
    expect(await mara('POST', 'me/codes/confirmation', { code: wrong })).toMatchObject({
      status: 422,
      body: { errors: [{ pointer: '/code' }] },
    })
    const code = await codeOf(begun.secret)
    expect((await mara('POST', 'me/codes/confirmation', { code: `${code.slice(0, 3)} ${code.slice(3)}` })).body.recoveryCodes).toHaveLength(
      10,
    )
    expect(await signIn()).toMatchObject({ status: 401, body: { code: 'SECOND_FACTOR_NEEDED' } })
    expect((await mara('GET', 'me/factors')).body).toMatchObject({ recoveryCodesLeft: 10, hasPassword: true, passkeys: [] })
    expect((await administrator('GET', `people/${personId}`)).body).toMatchObject({ hasCodes: true, passkeyCount: 0 })
  })

  it('are asked for after the password alone, each good once, also when several come at once', async () => {
    const { secret } = await turnOn()
    expect(await signIn(await codeOf(secret), 'not the password')).toMatchObject({ body: { code: 'SIGN_IN_REFUSED' } })
    expect(await signIn(await codeOf(secret))).toMatchObject({ status: 401, body: { code: 'CODE_USED' } })
    await forgetStep()
    const code = await codeOf(secret)
    const replies = await Promise.all(Array.from({ length: 4 }, () => signIn(code)))
    expect(replies.filter(({ status }) => status === 200)).toHaveLength(1)
    expect(replies.filter(({ body }) => body.code === 'CODE_USED')).toHaveLength(3)
    const [entry] = await sql(`SELECT after FROM audit_entry WHERE person_id = $1 AND action = 'sign in' ORDER BY id DESC LIMIT 1`, [
      personId,
    ])
    expect(entry).toEqual({ after: { by: 'password and code' } })
  })

  it('are kept so that the database alone cannot make them, and never stand in the history', async () => {
    const { secret, recoveryCodes } = await turnOn()
    const kept = JSON.stringify([
      await sql(`SELECT *, encode(sealed_secret, 'escape') AS plain FROM second_factor`),
      await sql('SELECT * FROM recovery_code'),
      await sql('SELECT * FROM audit_entry'),
    ])
    for (const text of [secret, ...recoveryCodes, ...recoveryCodes.map((code) => code.replaceAll('-', ''))])
      expect(kept).not.toContain(text)
  })

  it('slow a guesser who has the password, by person and not by address; a recovery code still opens', async () => {
    expect([0, 4, 5, 6, 9, 12, 40].map(waitAfter)).toEqual([0, 0, 30, 60, 480, 3600, 3600])
    const { secret, recoveryCodes } = await turnOn()
    await sql('UPDATE second_factor SET failures = 4, last_step = 0 WHERE person_id = $1', [personId])
    expect((await signIn('000000')).body.code).toMatch(/CODE_REFUSED|CODE_USED/)
    const right = await signIn(await codeOf(secret))
    expect(right).toMatchObject({ status: 429, body: { code: 'TOO_MANY_TRIES' } })
    expect(Number(right.headers['retry-after'])).toBeGreaterThan(25)
    expect((await signIn(recoveryCodes[0])).status).toBe(200)
    await sql(`UPDATE second_factor SET failed_at = failed_at - interval '31 seconds' WHERE person_id = $1`, [personId])
    expect((await signIn(await codeOf(secret))).status).toBe(200)
    expect(await sql('SELECT failures FROM second_factor WHERE person_id = $1', [personId])).toEqual([{ failures: 0 }])
  })

  it('of the recovery each open once, however they are typed, and end when new ones are made', async () => {
    const { recoveryCodes } = await turnOn()
    const [first, second, third] = recoveryCodes as [string, string, string]
    expect((await signIn(first.toUpperCase().replaceAll('-', ' '))).status).toBe(200)
    expect(await signIn(first)).toMatchObject({ status: 401, body: { code: 'CODE_REFUSED' } })
    const racers = await Promise.all(Array.from({ length: 3 }, () => signIn(second)))
    expect(racers.filter(({ status }) => status === 200)).toHaveLength(1)
    expect((await mara('GET', 'me/factors')).body.recoveryCodesLeft).toBe(8)
    const renewed = (await mara('POST', 'me/recovery-codes', { currentPassword: PASSWORD })).body.recoveryCodes
    expect((await signIn(third)).status).toBe(401)
    expect((await signIn(renewed[0])).status).toBe(200)
  })

  it('are turned off by their owner with the password, and by an administrator for who lost them, with a record', async () => {
    await turnOn()
    expect((await mara('POST', 'me/codes', { currentPassword: PASSWORD })).body.code).toBe('CODES_ON')
    expect((await mara('POST', 'me/codes/removal', {})).status).toBe(422)
    expect((await mara('POST', 'me/codes/removal', { currentPassword: PASSWORD })).status).toBe(200)
    expect((await signIn()).status).toBe(200)
    await turnOn()
    expect((await administrator('DELETE', `people/${personId}/factors`)).body).toMatchObject({ hasCodes: false, passkeyCount: 0 })
    expect((await mara('GET', 'me')).status).toBe(401)
    expect((await signIn()).status).toBe(200)
    const [entry] = await sql(`SELECT actor, before ->> 'hasCodes' AS had FROM audit_entry WHERE subject_id = $1 AND action ~ 'away'`, [
      personId,
    ])
    expect(entry).toEqual({ actor: 'root', had: 'true' })
    expect(await told()).toEqual(['codes_on', 'codes_off', 'codes_on', 'taken_away by root'])
    expect((await administrator('DELETE', `people/${root.id}/factors`)).body.code).toBe('OWN_FACTORS')
  })

  it('are not begun over and over by who found an open screen', async () => {
    const tries = []
    for (let n = 0; n < 9; n++) tries.push((await mara('POST', 'me/codes', { currentPassword: `guess ${n}` })).status)
    expect(tries).toEqual([422, 422, 422, 422, 422, 422, 422, 422, 429])
  })
})

describe('a passkey', () => {
  const options = async () => (await mara('POST', 'me/passkeys/options', { currentPassword: PASSWORD })).body.options
  const signInOptions = async () => (await api.anyone('POST', 'session/passkey/options')).body.options
  const enter = (credential: object) => api.anyone('POST', 'session/passkey', { credential })
  async function withPasskey(): Promise<Authenticator> {
    const device = new Authenticator(origin)
    const reply = await mara('POST', 'me/passkeys', { name: 'phone', credential: device.create(await options()) })
    expect(reply).toMatchObject({ status: 201, body: { name: 'phone', lastUsedAt: null } })
    return device
  }

  it('is made after the password was asked again, and signs in by itself', async () => {
    expect((await mara('POST', 'me/passkeys/options', {})).status).toBe(422)
    const device = await withPasskey()
    await turnOn()
    const reply = await enter(device.get(await signInOptions()))
    expect(reply).toMatchObject({ status: 200, body: { person: { id: personId } } })
    expect(String(reply.headers['set-cookie'])).toMatch(/^tapewarden_session=[\w-]{43}; .*HttpOnly/)
    const [passkey] = (await mara('GET', 'me/factors')).body.passkeys
    expect(Date.parse(passkey.lastUsedAt)).toBeGreaterThan(0)
    expect((await enter(device.get(await signInOptions()))).status).toBe(200)
  })

  it('answers a challenge once, also when several come at once', async () => {
    const device = await withPasskey()
    const answer = device.get(await signInOptions())
    const replies = await Promise.all(Array.from({ length: 4 }, () => enter(answer)))
    expect(replies.map(({ status }) => status).sort((a, b) => a - b)).toEqual([200, 401, 401, 401])
    const made = new Authenticator(origin)
    const sent = { name: 'tablet', credential: made.create(await options()) }
    expect((await mara('POST', 'me/passkeys', sent)).status).toBe(201)
    expect((await mara('POST', 'me/passkeys', sent)).body.code).toBe('PASSKEY_REFUSED')
  })

  const lies: [string, Lies][] = [
    ['at a page of another origin', { origin: 'https://tapewarden.example.evil' }],
    ['for another host', { host: 'evil.example' }],
    ['without finger, face or PIN', { verified: false }],
    ['to a challenge that is not ours', { challenge: Buffer.alloc(54, 7).toString('base64url') }],
  ]
  it.each(lies)('made or used %s is refused', async (_what, lie) => {
    const device = await withPasskey()
    expect(await enter(device.get(await signInOptions(), lie))).toMatchObject({ status: 401, body: { code: 'SIGN_IN_REFUSED' } })
    const other = new Authenticator(origin)
    expect((await mara('POST', 'me/passkeys', { name: 'x', credential: other.create(await options(), lie) })).body.code).toBe(
      'PASSKEY_REFUSED',
    )
  })

  it('whose counter goes backwards, that was made for somebody else, or whose challenge was for something else, is refused', async () => {
    const device = await withPasskey()
    for (let n = 0; n < 3; n++) expect((await enter(device.get(await signInOptions()))).status).toBe(200)
    expect((await enter(device.get(await signInOptions(), { counter: 2 }))).status).toBe(401)
    const foreign = Buffer.from(root.id).toString('base64url')
    expect((await enter(device.get(await signInOptions(), { userHandle: foreign }))).status).toBe(401)
    expect((await enter(device.get(await options()))).status).toBe(401)
    expect((await enter(new Authenticator(origin).get(await signInOptions()))).status).toBe(401)
    const forSignIn = await signInOptions()
    const made = new Authenticator(origin).create({ ...(await options()), challenge: forSignIn.challenge })
    expect((await mara('POST', 'me/passkeys', { name: 'x', credential: made })).body.code).toBe('PASSKEY_REFUSED')
  })

  it('ends with its person, by its owner, and by an administrator', async () => {
    const device = await withPasskey()
    await administrator('PATCH', `people/${personId}`, { disabled: true })
    expect((await enter(device.get(await signInOptions()))).status).toBe(401)
    await administrator('PATCH', `people/${personId}`, { disabled: false })
    mara = await session()
    const [passkey] = (await mara('GET', 'me/factors')).body.passkeys
    expect((await administrator('DELETE', `me/passkeys/${passkey.id}`)).status).toBe(404)
    expect((await mara('DELETE', `me/passkeys/${passkey.id}`)).status).toBe(200)
    expect((await enter(device.get(await signInOptions()))).status).toBe(401)
    const second = await withPasskey()
    await administrator('DELETE', `people/${personId}/factors`)
    expect((await enter(second.get(await signInOptions()))).status).toBe(401)
    expect(await told()).toEqual(['passkey_added', 'passkey_forgotten', 'passkey_added', 'taken_away by root'])
  })

  it('is not forgotten where it is the only way in', async () => {
    await withPasskey()
    await sql('UPDATE person SET password_hash = NULL WHERE id = $1', [personId])
    const [passkey] = (await mara('GET', 'me/factors')).body.passkeys
    expect(await mara('DELETE', `me/passkeys/${passkey.id}`)).toMatchObject({ status: 409, body: { code: 'LAST_WAY_IN' } })
    await sql(`UPDATE session SET created_at = created_at - interval '11 minutes' WHERE person_id = $1`, [personId])
    expect((await mara('POST', 'me/passkeys/options', {})).body.code).toBe('SIGN_IN_AGAIN')
  })
})
