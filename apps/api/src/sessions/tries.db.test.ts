import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { Client } from 'pg'
import { type Ask, type Json, PASSWORD, personRow, type Reply, seed, startTestApi, type TestApi } from '../../../../tests/support/api.js'

let api: TestApi
let other: Awaited<ReturnType<TestApi['beside']>>
let owner: Client
const organisationId = newId()

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z', { behindProxy: true })
  other = await api.beside()
  await seed(api, organisationId, {
    organisation: [{ id: organisationId, name: 'North Ltd', created_at: '2026-01-01T00:00:00Z' }],
    person: ['mara', 'tom', 'ina'].map((name) => personRow('manager', `${name}@north.example`)),
  })
  owner = new Client({ connectionString: api.test.ownerUrl })
  await owner.connect()
})
afterAll(async () => {
  await owner.end()
  await other.close()
  await api.close()
})

/** From an address of the tester's choice, as the proxy in front tells it. */
const signIn = (process: { ask(cookie: undefined): Ask }, name: string, password: string, from: string): Promise<Reply> =>
  process.ask(undefined)('POST', 'session', { email: `${name}@north.example`, password }, { 'x-forwarded-for': from })
const rows = async (text: string, values: unknown[] = []): Promise<Json[]> => (await owner.query(text, values)).rows
const kept = async (): Promise<number> => (await rows(`SELECT count(*)::int AS n FROM sign_in.tried`))[0].n
const letPass = (seconds: number) =>
  rows(
    `UPDATE sign_in.tried SET forget_at = forget_at - make_interval(secs => $1),
       tried_at = ARRAY(SELECT at - make_interval(secs => $1) FROM unnest(tried_at) at)`,
    [seconds],
  )

describe('guesses at passwords', () => {
  it('are counted for all processes together, also those that come at once', async () => {
    const tries = await Promise.all(
      Array.from({ length: 16 }, (_, n) => signIn(n % 2 === 0 ? api : other, 'mara', `guess number ${n}`, '203.0.113.1')),
    )
    expect(tries.map(({ status }) => status).toSorted((a, b) => a - b)).toEqual([
      ...Array<number>(8).fill(401),
      ...Array<number>(8).fill(429),
    ])
    for (const process of [api, other]) {
      const reply = await signIn(process, 'mara', PASSWORD, '203.0.113.1')
      expect(reply).toMatchObject({ status: 429, body: { code: 'TOO_MANY_TRIES' } })
      expect(Number(reply.headers['retry-after'])).toBeGreaterThan(200)
    }
  })

  it('do not lock out the person whose account is guessed at, nor anybody else', async () => {
    expect((await signIn(api, 'mara', PASSWORD, '203.0.113.2')).status).toBe(200)
    expect((await signIn(other, 'tom', PASSWORD, '203.0.113.1')).status).toBe(200)
  })

  it('are not forgiven by a restart', async () => {
    const restarted = await api.beside()
    expect((await signIn(restarted, 'mara', PASSWORD, '203.0.113.1')).status).toBe(429)
    await restarted.close()
  })

  it('are free again one by one when their five minutes are over', async () => {
    await letPass(200)
    const reply = await signIn(api, 'mara', PASSWORD, '203.0.113.1')
    expect(reply.status).toBe(429)
    expect(Number(reply.headers['retry-after'])).toBeLessThanOrEqual(100)
    await letPass(101)
    expect((await signIn(other, 'mara', PASSWORD, '203.0.113.1')).status).toBe(200)
  })

  it('are forgotten with the right password', async () => {
    for (let n = 0; n < 7; n++) expect((await signIn(api, 'ina', 'not this one', '203.0.113.3')).status).toBe(401)
    expect((await signIn(other, 'ina', PASSWORD, '203.0.113.3')).status).toBe(200)
    for (let n = 0; n < 7; n++) expect((await signIn(api, 'ina', 'not this one', '203.0.113.3')).status).toBe(401)
  })

  it('at many accounts from one address end at sixty, in both processes together', async () => {
    const statuses = await Promise.all(
      Array.from({ length: 70 }, (_, n) => signIn(n % 2 === 0 ? api : other, `nobody${n}`, 'not this one', '203.0.113.4')),
    )
    expect(statuses.filter(({ status }) => status === 401)).toHaveLength(60)
    expect(statuses.filter(({ status }) => status === 429)).toHaveLength(10)
  })

  it('are not what a shift makes that signs in from one address, and one who is right forgives nobody else’s', async () => {
    const [guess, right] = [
      () => signIn(api, `nobody${newId()}`, 'not this one', '203.0.113.5'),
      () => signIn(other, 'tom', PASSWORD, '203.0.113.5'),
    ]
    for (let n = 0; n < 58; n++) await guess()
    for (let n = 0; n < 6; n++) expect((await right()).status).toBe(200)
    expect([(await guess()).status, (await guess()).status, (await guess()).status]).toEqual([401, 401, 429])
  })
})

describe('what is kept of them', () => {
  it('is one question for each sign-in, however much is kept', async () => {
    const asked = jest.spyOn(api.database.pool, 'query')
    await signIn(api, 'tom', 'not this one', '203.0.113.5')
    const texts = asked.mock.calls.map(([text]) => String(text))
    asked.mockRestore()
    expect(texts.filter((text) => text.includes('_tries'))).toEqual(['SELECT take_tries($1, $2, $3) AS wait'])
  })

  it('goes when its time is over: each try removes more than it adds', async () => {
    await rows(
      `INSERT INTO sign_in.tried SELECT sha256(n::text::bytea), ARRAY[clock_timestamp() - interval '1 hour'], clock_timestamp() - interval '1 minute'
       FROM generate_series(1, 45) n`,
    )
    await letPass(3600)
    expect(await kept()).toBeGreaterThan(45)
    for (let n = 0; n < 12; n++) await signIn(n % 2 === 0 ? api : other, `stranger${n}`, 'not this one', `203.0.113.${100 + n}`)
    // Two for each of the last twelve, and none of those whose time was over.
    expect(await kept()).toBe(24)
    expect(await rows(`SELECT max(cardinality(tried_at)) AS most FROM sign_in.tried`)).toEqual([{ most: 1 }])
  })

  it('names neither address nor account, and the application can neither read nor empty it', async () => {
    const text = JSON.stringify((await rows(`SELECT encode(key, 'escape') AS key FROM sign_in.tried`)).map(({ key }) => key))
    expect(text).not.toMatch(/stranger|203\.0\.113/)
    for (const statement of ['SELECT 1 FROM sign_in.tried', 'DELETE FROM sign_in.tried', 'TRUNCATE sign_in.tried'])
      await expect(api.database.pool.query(statement)).rejects.toMatchObject({ code: '42501' })
  })
})
