import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'
import { deliveryReport } from '../../../../tests/support/bounces.js'

const SECRET = 'only-for-tests-only-for-tests'
const UNKNOWN = '018f0000-0000-7000-8000-0000000000aa'
let api: TestApi
let us: ApiOrganisation
let address: string

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z', { bounceSecret: SECRET })
  us = await makeOrganisation(api, 'back')
  address = (await us.manager('GET', `people/${us.people.technician}`)).body.email
})
afterAll(() => api.close())

const handIn = (text: string, secret = SECRET) =>
  api.anyone('POST', '/inbound/bounces', text, { authorization: `Bearer ${secret}`, 'content-type': 'message/rfc822' })

describe('the inbound address for mail that came back', () => {
  it('takes nothing without its secret, and nothing at all where none is set', async () => {
    const report = deliveryReport({ messageId: UNKNOWN, address })
    for (const secret of ['', 'wrong', `${SECRET}x`]) expect((await handIn(report, secret)).status).toBe(401)
    const silent = await startTestApi('2026-05-04T08:00:00Z')
    const reply = await silent.anyone('POST', '/inbound/bounces', report, {
      authorization: 'Bearer undefined',
      'content-type': 'message/rfc822',
    })
    await silent.close()
    expect(reply.status).toBe(401)
    expect((await us.manager('GET', 'bounces')).body.items).toEqual([])
  })

  it('gives up the address once, shows it, and says why on the person’s page', async () => {
    const report = deliveryReport({ messageId: UNKNOWN, address, id: 'first' })
    expect(await handIn(report)).toMatchObject({ status: 200, body: { entries: 1, suppressed: 1, unknown: 0 } })
    expect(await handIn(report)).toMatchObject({ status: 200, body: { entries: 0, suppressed: 0, unknown: 0 } })
    const { items } = (await us.manager('GET', 'bounces')).body
    expect(items).toMatchObject([{ address, kind: 'hard', statusCode: '5.1.1', suppressed: true, person: { id: us.people.technician } }])
    expect((await us.manager('GET', `people/${us.people.technician}/mail`)).body).toMatchObject({ refusedAddress: address })
  })

  it('takes what it cannot read without harm', async () => {
    for (const text of ['', 'x', '\u0000'.repeat(1000), deliveryReport({ messageId: UNKNOWN, address: 'nobody@nowhere.example' })])
      expect((await handIn(text)).body).toMatchObject({ entries: 0, suppressed: 0 })
    expect((await handIn('x'.repeat(1_100_000))).status).toBe(413)
  })
})
