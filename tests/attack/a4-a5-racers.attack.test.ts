/** A4: the same request many times at once under one key has one effect. A5: of many who want the same thing one gets it. */
import { afterAll, beforeAll, expect, it, jest } from '@jest/globals'
import { newId, signAccountLink } from '@tapewarden/platform'
import { startTestApi, type TestApi } from '../support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../support/api-organisation.js'
import { report, scaled } from './report.js'

jest.setTimeout(3_600_000)
const KEYS = scaled(40, 1000)
const RACERS = scaled(30, 200)
const ROUNDS = scaled(4, 1000)
let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'ours')
})
afterAll(() => api.close())

it(`A4: ${KEYS} keys, five at once each, have one effect each; another body is refused`, async () => {
  let inFlight = 0
  for (let number = 0; number < KEYS; number++) {
    const body = { name: 'Brush set', stockCode: `K-${number}` }
    const headers = { 'idempotency-key': `key-${number}` }
    const replies = await Promise.all(Array.from({ length: 5 }, () => us.manager('POST', 'parts', body, headers)))
    const made = replies.filter(({ status }) => status === 201)
    inFlight += replies.filter(({ status, body: said }) => status === 409 && said.code === 'REQUEST_IN_FLIGHT').length
    expect(made.length + replies.filter(({ status }) => status === 409).length).toBe(5)
    expect(new Set(made.map((reply) => reply.body.id)).size).toBe(1)
    const other = await us.manager('POST', 'parts', { ...body, name: 'Another' }, headers)
    expect(other.status).toBe(422)
  }
  const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows(`SELECT id FROM part WHERE stock_code LIKE 'K-%'`),
  )
  expect(rows).toHaveLength(KEYS)
  report('A4', 'idempotency keys, five at once each', { keys: KEYS, effects: rows.length, inFlight })
})

it(`A5: of ${RACERS} who change the same version one wins, ${ROUNDS} times`, async () => {
  let wins = 0
  for (let round = 0; round < ROUNDS; round++) {
    const tag = String((await us.manager('GET', `stations/${us.station}`)).headers.etag)
    const patch = (racer: number) => us.manager('PATCH', `stations/${us.station}`, { line: `L${racer}` }, { 'if-match': tag })
    const replies = await Promise.all(Array.from({ length: RACERS }, (_unused, racer) => patch(racer)))
    const won = replies.filter(({ status }) => status === 200).length
    wins += won
    const byStatus = new Map<number, number>()
    for (const { status } of replies) byStatus.set(status, (byStatus.get(status) ?? 0) + 1)
    expect(Object.fromEntries(byStatus)).toEqual({ 200: 1, 412: RACERS - 1 })
  }
  report('A5', 'racers for one version of a record', { racers: RACERS, rounds: ROUNDS, wins })
})

it('A5: of many who use the same link by mail one wins', async () => {
  const racers = scaled(8, 40)
  const rounds = scaled(1, 5)
  let wins = 0
  for (let round = 0; round < rounds; round++) {
    await us.administrator('POST', `people/${us.people.technician}/invitations`)
    const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ id: string }>('SELECT id FROM account_link WHERE used_at IS NULL'),
    )
    const token = signAccountLink('a key for tests only, 32 characters and more', {
      organisationId: us.organisationId,
      linkId: rows[0]!.id,
    })
    const use = () => api.anyone('POST', 'account-links/use', { token, newPassword: `a password of ${newId()}` })
    const replies = await Promise.all(Array.from({ length: racers }, use))
    const won = replies.filter(({ status }) => status === 200).length
    wins += won
    expect(won).toBe(1)
  }
  report('A5', 'racers for one link by mail', { racers, rounds, wins })
})
