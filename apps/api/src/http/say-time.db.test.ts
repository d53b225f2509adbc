import { afterAll, beforeAll, expect, it } from '@jest/globals'
import { startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

const THERE = '2026-05-04T08:00:00Z'
let api: TestApi
let us: ApiOrganisation
beforeAll(async () => {
  api = await startTestApi(THERE)
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

const aheadOf = (date: unknown, instant: string): number => Math.abs(Date.parse(String(date)) - Date.parse(instant))

it('says with each answer, also a refusal, the time by which the installation works, and follows it', async () => {
  for (const path of ['me', 'machines/none']) expect(aheadOf((await us.manager('GET', path)).headers['date'], THERE)).toBeLessThan(5000)
  api.clock.set(new Date('2026-05-04T11:30:00Z'))
  await us.manager('GET', 'me')
  expect(aheadOf((await us.manager('GET', 'me')).headers['date'], '2026-05-04T11:30:00Z')).toBeLessThan(5000)
})

it('leaves what Node says where both agree', async () => {
  api.clock.set(new Date())
  await us.manager('GET', 'me').catch(() => null)
  const reply = await api.anyone('GET', 'me')
  expect(aheadOf(reply.headers['date'], new Date().toISOString())).toBeLessThan(5000)
})
