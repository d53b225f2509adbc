import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { BY_ITSELF_HEADER, TABLET_HEADER, TURN_HEADER } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { DESK_UNUSED_HOURS, SITE_UNUSED_HOURS } from './unused.js'

let api: TestApi
let other: Awaited<ReturnType<TestApi['beside']>>
let us: ApiOrganisation
const MINUTE_HOURS = 1 / 60

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  other = await api.beside()
  us = await makeOrganisation(api, 'north')
})
afterAll(async () => {
  await other.close()
  await api.close()
})

const sql = (text: string, values: (string | number)[] = []): Promise<Json[]> =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Json>(text, values))

/** A session of its own, and its row. */
async function enter(name: string): Promise<{ cookie: string; id: string; unusedFor(hours: number): Promise<unknown> }> {
  const cookie = await api.enter(`${name}@north.example`)
  const { items } = (await api.ask(cookie)('GET', 'sessions')).body
  const { id } = items.find(({ current }: { current: boolean }) => current)
  const unusedFor = (hours: number) =>
    sql(`UPDATE session SET last_seen_at = clock_timestamp() - make_interval(secs => $2::float8 * 3600) WHERE id = $1`, [id, hours])
  return { cookie, id, unusedFor }
}
const statusOf = async (cookie: string): Promise<number> => (await api.ask(cookie)('GET', 'me')).status
const endOf = async (id: string): Promise<Json> =>
  (
    await sql(
      `SELECT ended_at AS "endedAt", last_seen_at > clock_timestamp() - interval '5 seconds' AS "justSeen" FROM session WHERE id = $1`,
      [id],
    )
  )[0]

describe('a session that nobody uses', () => {
  it.each([
    ['administrator', DESK_UNUSED_HOURS],
    ['manager', DESK_UNUSED_HOURS],
    ['technician', SITE_UNUSED_HOURS],
    ['instructed', SITE_UNUSED_HOURS],
  ])('of the role %s goes on before %i hours, and ends after them in every process', async (name, hours) => {
    const session = await enter(name)
    await session.unusedFor(hours - MINUTE_HOURS)
    expect(await statusOf(session.cookie)).toBe(200)
    expect(await endOf(session.id)).toEqual({ endedAt: null, justSeen: true })
    await session.unusedFor(hours + MINUTE_HOURS)
    expect(await other.ask(session.cookie)('GET', 'me')).toMatchObject({ status: 401, body: { code: 'NOT_SIGNED_IN' } })
    expect((await endOf(session.id)).endedAt).not.toBeNull()
    expect(await statusOf(session.cookie)).toBe(401)
  })

  it('of a shift on site goes on where a desk would have ended', async () => {
    const session = await enter('technician')
    await session.unusedFor(DESK_UNUSED_HOURS + 1)
    expect(await statusOf(session.cookie)).toBe(200)
  })

  it('does not come back by another role, and ends sooner with a role that sees more', async () => {
    const session = await enter('technician')
    await session.unusedFor(DESK_UNUSED_HOURS + 1)
    const become = (role: string) => sql(`UPDATE person SET role = $2 WHERE id = $1`, [us.people.technician, role])
    await become('manager')
    expect(await statusOf(session.cookie)).toBe(401)
    await become('technician')
    expect(await statusOf(session.cookie)).toBe(401)
  })

  it('ends once, also when both processes are asked at once', async () => {
    const session = await enter('manager')
    await session.unusedFor(DESK_UNUSED_HOURS + 1)
    const replies = await Promise.all(Array.from({ length: 12 }, (_, n) => (n % 2 === 0 ? api : other).ask(session.cookie)('GET', 'me')))
    expect(new Set(replies.map(({ status }) => status))).toEqual(new Set([401]))
    expect((await endOf(session.id)).justSeen).toBe(false)
  })

  it('is not kept alive by what an open page asks by itself', async () => {
    const session = await enter('manager')
    await session.unusedFor(DESK_UNUSED_HOURS - MINUTE_HOURS)
    const page = api.ask(session.cookie)
    expect((await page('GET', 'health', undefined, { [BY_ITSELF_HEADER]: '1' })).status).toBe(200)
    expect(await endOf(session.id)).toEqual({ endedAt: null, justSeen: false })
    expect((await page('GET', 'health')).status).toBe(200)
    expect(await endOf(session.id)).toEqual({ endedAt: null, justSeen: true })
  })

  it('is written to once a minute at most', async () => {
    const session = await enter('manager')
    const seen = () => sql(`SELECT last_seen_at::text AS at FROM session WHERE id = $1`, [session.id])
    await session.unusedFor(0.5 * MINUTE_HOURS)
    const before = await seen()
    for (let n = 0; n < 5; n++) expect(await statusOf(session.cookie)).toBe(200)
    expect(await seen()).toEqual(before)
  })

  it('is shown with its ends, and no more once it has ended', async () => {
    const [here, there] = [await enter('manager'), await enter('manager')]
    await there.unusedFor(2)
    const list = async (): Promise<Json[]> => (await api.ask(here.cookie)('GET', 'sessions')).body.items
    const shown = (await list()).find(({ id }) => id === there.id)
    expect(Date.parse(shown.unusedEndsAt) - Date.parse(shown.lastSeenAt)).toBe(DESK_UNUSED_HOURS * 3_600_000)
    await sql(`UPDATE session SET expires_at = clock_timestamp() + interval '1 hour' WHERE id = $1`, [there.id])
    const shorter = (await list()).find(({ id }) => id === there.id)
    expect(shorter.unusedEndsAt).toBe(shorter.expiresAt)
    await there.unusedFor(DESK_UNUSED_HOURS + 1)
    expect((await list()).map(({ id }) => id)).not.toContain(there.id)
  })

  it('is none of a shared tablet: what waits there goes out under its turn', async () => {
    const made = await us.manager('POST', 'tablets', { name: 'Dock 3', warehouseId: us.north })
    await us.technician('PUT', 'me/short-code', { code: '2580' })
    const begun = await api.anyone(
      'POST',
      'this-tablet/turns',
      { personId: us.people.technician, code: '2580' },
      { [TABLET_HEADER]: made.body.secret },
    )
    expect(begun.status).toBe(200)
    await sql(`UPDATE session SET last_seen_at = clock_timestamp() - interval '20 days' WHERE tablet_id IS NOT NULL`)
    expect((await api.anyone('GET', 'me', undefined, { [TURN_HEADER]: begun.body.secret })).status).toBe(200)
    const { items } = (await us.technician('GET', 'sessions')).body
    const turn = items.find(({ userAgent }: { userAgent: string }) => userAgent === 'Shared tablet Dock 3')
    expect(turn.unusedEndsAt).toBe(turn.expiresAt)
  })

  it('goes by the time of the database, whatever clock the processes show', async () => {
    const session = await enter('manager')
    api.clock.set(new Date('2027-05-04T08:00:00Z'))
    expect(await statusOf(session.cookie)).toBe(200)
    api.clock.set(new Date('2026-05-04T08:00:00Z'))
  })
})
