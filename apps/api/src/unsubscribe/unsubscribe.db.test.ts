import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import Fastify, { type FastifyInstance } from 'fastify'
import type { NestFastifyApplication } from '@nestjs/platform-fastify'
import { Database, insertAllRows } from '@tapewarden/persistence'
import { FixedClock, signUnsubscribeLink } from '@tapewarden/platform'
import { createTestDatabase, type TestDatabase } from '../../../../tests/support/database.js'
import { smallOrganisation } from '../../../../tests/support/organisation.js'
import { serveUnsubscribe } from './serve-unsubscribe.js'

const KEY = 'only-for-tests-'.repeat(3)
let test: TestDatabase
let database: Database
let server: FastifyInstance
const ours = smallOrganisation('unsubscribe')
const token = signUnsubscribeLink(KEY, { organisationId: ours.organisationId, personId: ours.ids.manager })
const wants = async () =>
  (
    await database.withOrganisationSql(ours.organisationId, (scope) =>
      scope.rows('SELECT id, reminder_mail AS wants FROM person ORDER BY name'),
    )
  ).map(({ wants: one }) => one)
const audits = async () =>
  (
    await database.withOrganisationSql(ours.organisationId, (scope) =>
      scope.rows(`SELECT 1 FROM audit_entry WHERE action = 'reminder_mail_off'`),
    )
  ).length

beforeAll(async () => {
  test = await createTestDatabase()
  database = await Database.open({ url: test.appUrl, applicationName: 'test', most: 3 })
  await database.withOrganisationSql(ours.organisationId, (scope) => insertAllRows(scope, ours.rows))
  server = Fastify()
  await serveUnsubscribe(server as unknown as NestFastifyApplication, {
    database,
    clock: new FixedClock(new Date('2026-03-03T10:00:00Z')),
    secretKey: KEY,
  })
})
afterAll(async () => {
  await server.close()
  await database.close()
  await test.drop()
})
beforeEach(() => database.withOrganisationSql(ours.organisationId, (scope) => scope.run('UPDATE person SET reminder_mail = true')))

const oneClick = (asked: string) =>
  server.inject({
    method: 'POST',
    url: `/unsubscribe/${asked}`,
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
    payload: 'List-Unsubscribe=One-Click',
  })

describe('the unsubscribe link', () => {
  it('changes nothing when it is fetched', async () => {
    const answer = await server.inject({ method: 'GET', url: `/unsubscribe/${token}` })
    expect([answer.statusCode, answer.headers['content-type']]).toEqual([200, 'text/html; charset=utf-8'])
    expect(await wants()).toEqual([true, true])
  })

  it('speaks as the mail did', async () => {
    const text = async () => (await server.inject({ method: 'GET', url: `/unsubscribe/${token}` })).body
    expect(await text()).toContain('<html lang="en">')
    await database.withOrganisationSql(ours.organisationId, (scope) => scope.run(`UPDATE person SET language = 'de'`))
    expect(await text()).toMatch(/<html lang="de">.*Erinnerungen abbestellen\?/)
    await database.withOrganisationSql(ours.organisationId, (scope) => scope.run(`UPDATE person SET language = 'en'`))
  })

  it('turns off its person’s mails and nobody else’s with one POST, without a sign-in, however often', async () => {
    expect((await oneClick(token)).statusCode).toBe(200)
    expect((await oneClick(token)).statusCode).toBe(200)
    expect(await wants()).toEqual([false, true])
    expect(await audits()).toBe(1)
  })

  it('refuses a forged link', async () => {
    const forged = token.slice(0, -1) + (token.endsWith('A') ? 'B' : 'A')
    expect((await oneClick(forged)).statusCode).toBe(404)
    expect((await oneClick('x')).statusCode).toBe(404)
    expect(await wants()).toEqual([true, true])
  })
})
