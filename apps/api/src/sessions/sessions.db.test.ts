import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Ask, PASSWORD, personRow, seed, startTestApi, type TestApi } from '../../../../tests/support/api.js'

let api: TestApi
const organisationId = newId()
const manager = personRow('manager', 'mara@north.example')
const technician = personRow('technician', 'tom@north.example')
const disabled = { ...personRow('manager', 'gone@north.example'), disabled_at: '2026-02-01T00:00:00Z' }
const [north, south] = [newId(), newId()]
const warehouse = (id: string, name: string, zone: string) => ({ id, name, zone, created_at: '2026-01-01T00:00:00Z' })

beforeAll(async () => {
  api = await startTestApi('2026-05-04T23:30:00Z')
  await seed(api, organisationId, {
    organisation: [{ id: organisationId, name: 'North Ltd', created_at: '2026-01-01T00:00:00Z' }],
    person: [manager, technician, disabled],
    warehouse: [warehouse(north, 'North', 'Europe/Berlin'), warehouse(south, 'South', 'America/Chicago')],
    person_warehouse: [{ person_id: technician.id, warehouse_id: south }],
  })
})
afterAll(() => api.close())

describe('sign-in', () => {
  it('sets a cookie that no script reads, and says who and where', async () => {
    const reply = await api.anyone('POST', 'session', { email: 'MARA@north.example', password: PASSWORD })
    expect(reply.status).toBe(200)
    expect(String(reply.headers['set-cookie'])).toMatch(/^tapewarden_session=[\w-]{43}; .*HttpOnly; SameSite=Lax$/)
    expect(reply.body).toMatchObject({ person: { name: 'mara', role: 'manager' }, organisation: { name: 'North Ltd' } })
    // 23:30 UTC on the 4th is 01:30 on the 5th in Berlin (UTC+2 in May) and 18:30 on the 4th in Chicago (UTC−5).
    expect(reply.body.warehouses.map((one: { today: string }) => one.today)).toEqual(['2026-05-05', '2026-05-04'])
  })

  it.each([
    ['a wrong password', 'mara@north.example', 'not this one at all'],
    ['an unknown address', 'nobody@north.example', PASSWORD],
    ['a disabled person', 'gone@north.example', PASSWORD],
  ])('refuses %s with one and the same answer', async (_what, email, password) => {
    const reply = await api.anyone('POST', 'session', { email, password })
    expect(reply.status).toBe(401)
    expect({ ...reply.body, instance: '' }).toEqual({
      type: 'urn:tapewarden:problem:sign-in-refused',
      title: 'Not signed in',
      status: 401,
      detail: 'Address or password is not right.',
      instance: '',
      code: 'SIGN_IN_REFUSED',
    })
  })

  it('slows down a guesser by address and account, and says how long', async () => {
    const tries = []
    for (let n = 0; n < 9; n++)
      tries.push(await api.anyone('POST', 'session', { email: 'victim@north.example', password: `guess number ${n}` }))
    expect(tries.map((reply) => reply.status)).toEqual([401, 401, 401, 401, 401, 401, 401, 401, 429])
    expect(Number(tries[8]?.headers['retry-after'])).toBeGreaterThan(200)
    await expect(api.signIn('tom@north.example')).resolves.toBeDefined()
  })

  it('shows a technician the warehouses they serve', async () => {
    const tom = await api.signIn('tom@north.example')
    expect((await tom('GET', 'me')).body.warehouses.map((one: { name: string }) => one.name)).toEqual(['South'])
  })
})

describe('sessions', () => {
  let mara: Ask
  beforeAll(async () => {
    mara = await api.signIn('mara@north.example')
  })

  it('are listed and ended by their owner alone', async () => {
    const other = await api.signIn('mara@north.example')
    const tom = await api.signIn('tom@north.example')
    const { items } = (await other('GET', 'sessions')).body
    const current = items.find((session: { current: boolean }) => session.current)
    expect((await tom('DELETE', `sessions/${current.id}`)).status).toBe(404)
    expect((await mara('DELETE', `sessions/${current.id}`)).status).toBe(200)
    expect((await other('GET', 'me')).status).toBe(401)
    expect((await mara('GET', 'me')).status).toBe(200)
  })

  it('end at once when the person is disabled, and by signing out', async () => {
    const tom = await api.signIn('tom@north.example')
    const disable = (to: string | null) =>
      api.database.withOrganisationSql(organisationId, (scope) =>
        scope.run('UPDATE person SET disabled_at = $1 WHERE id = $2', [to, technician.id]),
      )
    await disable('2026-05-04T00:00:00Z')
    expect((await tom('GET', 'me')).status).toBe(401)
    await disable(null)
    expect((await tom('GET', 'me')).status).toBe(200)
    const signedOut = await tom('DELETE', 'session')
    expect(String(signedOut.headers['set-cookie'])).toContain('Expires=Thu, 01 Jan 1970')
    expect((await tom('GET', 'me')).status).toBe(401)
  })

  it('change the password only with the present one, never to a common one, and end the others', async () => {
    const other = await api.signIn('mara@north.example')
    const wrong = await mara('POST', 'me/password', { currentPassword: 'something else', newPassword: 'a long new password' })
    expect(wrong).toMatchObject({ status: 422, body: { code: 'PASSWORD_WRONG', errors: [{ pointer: '/currentPassword' }] } })
    expect((await mara('POST', 'me/password', { currentPassword: PASSWORD, newPassword: 'Password1234' })).body.code).toBe(
      'COMMON_PASSWORD',
    )
    expect((await mara('POST', 'me/password', { currentPassword: PASSWORD, newPassword: 'short' })).status).toBe(400)
    expect((await mara('POST', 'me/password', { currentPassword: PASSWORD, newPassword: 'a long new password' })).status).toBe(200)
    expect((await mara('GET', 'me')).status).toBe(200)
    expect((await other('GET', 'me')).status).toBe(401)
    expect((await mara('POST', 'me/password', { currentPassword: 'a long new password', newPassword: PASSWORD })).status).toBe(200)
  })
})

describe('a forged request', () => {
  it.each([
    ['without our header', { 'x-tapewarden': '' }],
    ['from a foreign page', { origin: 'https://evil.example' }],
    ['that the browser calls cross-site', { 'sec-fetch-site': 'cross-site' }],
    ['with an origin that is none', { origin: 'null' }],
  ])('%s changes nothing', async (_what, headers) => {
    const mara = await api.signIn('mara@north.example')
    const reply = await mara('PATCH', 'me', { leadDays: 3 }, headers)
    expect(reply).toMatchObject({ status: 403, body: { code: 'FOREIGN_REQUEST' } })
    expect((await mara('GET', 'me')).body.person.leadDays).toBe(7)
  })
  it('is told apart from one of our own page', async () => {
    const mara = await api.signIn('mara@north.example')
    expect((await mara('PATCH', 'me', { leadDays: 5 }, { origin: 'http://tapewarden.example' })).body.person.leadDays).toBe(5)
  })
})
