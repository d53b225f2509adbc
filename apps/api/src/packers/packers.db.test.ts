import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation, printedToken } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let token: string
const page = async (): Promise<Json> => (await api.anyone('GET', `labels/${token}`)).body

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  await us.manager('POST', 'labels', { machineIds: [us.machineId] })
  token = await printedToken(api, us)
})
afterAll(() => api.close())

describe('a scan without an account', () => {
  it('shows what is needed and nothing else of the organisation', async () => {
    expect(await page()).toEqual({
      labelCode: 'N-01',
      place: 'A A01',
      supply: 'cord_and_plug',
      heater: true,
      counterKind: 'strips',
      contactName: 'manager',
      report: null,
      month: '2026-05',
      monthlyTapGiven: false,
      serverTime: '2026-05-04T08:00:00.000Z',
    })
  })

  it('reports in one tap; twice is one stoppage; works again closes it', async () => {
    const id = newId()
    const first = await api.anyone('POST', `labels/${token}/reports`, { id, what: 'jammed' })
    expect(first).toMatchObject({ status: 200, body: { report: { what: 'jammed' } } })
    await api.anyone('POST', `labels/${token}/reports`, { id, what: 'jammed' })
    await api.anyone('POST', `labels/${token}/reports`, { id: newId(), what: 'dead' })
    const { items } = (await us.manager('GET', `stoppages?machineId=${us.machineId}`)).body
    expect(items).toHaveLength(1)
    expect(items[0]).toMatchObject({ open: true, noticedHow: 'packer', failureMode: 'jammed', note: expect.stringContaining('dead') })
    expect((await api.anyone('POST', `labels/${token}/works-again`)).body).toMatchObject({ report: null })
    expect((await us.manager('GET', `stoppages/${items[0].id}`)).body).toMatchObject({ open: false })
  })

  it('does not call what somebody works on reported, and ends no planned work', async () => {
    const planned = { machineId: us.machineId, planned: true, cause: 'planned_work', failedAt: '2026-05-04T07:30:00Z' }
    const { body: work } = await us.manager('POST', 'stoppages', planned)
    expect(await page()).toMatchObject({ report: { held: 'worked_on' } })
    expect((await api.anyone('POST', `labels/${token}/works-again`)).body).toMatchObject({ report: { held: 'worked_on' } })
    await us.manager('POST', `stoppages/${work.id}/closing`, {})
    expect(await page()).toMatchObject({ report: null })
    await api.anyone('POST', `labels/${token}/reports`, { id: newId(), what: 'dead' })
    expect(await page()).toMatchObject({ report: { what: 'dead', held: null } })
    await api.anyone('POST', `labels/${token}/works-again`)
  })

  it('takes the counter and the monthly tap as evidence', async () => {
    await api.anyone('POST', `labels/${token}/counter`, { id: newId(), value: 4200 })
    expect((await api.anyone('POST', `labels/${token}/monthly-tap`, { id: newId(), runs: 'some_hours' })).body).toMatchObject({
      monthlyTapGiven: true,
    })
    const { items } = (await us.manager('GET', `evidence?machineId=${us.machineId}`)).body
    expect(items.map(({ kind, source, state }: Json) => [kind, source, state]).sort()).toEqual([
      ['counter_reading', 'packer', 'counted'],
      ['monthly_tap', 'packer', 'counted'],
    ])
  })

  it('is refused where it taps without end, and by a label that was cancelled', async () => {
    const replies = []
    for (let tap = 0; tap < 14; tap++) replies.push((await api.anyone('POST', `labels/${token}/works-again`)).status)
    expect(replies).toContain(429)
    await us.manager('POST', 'labels', { machineIds: [us.machineId], fresh: true })
    expect((await api.anyone('GET', `labels/${token}`)).status).toBe(404)
    expect((await api.anyone('GET', `labels/${await printedToken(api, us)}`)).status).toBe(200)
    expect((await api.anyone('GET', 'labels/000000000000')).status).toBe(404)
    expect((await api.anyone('GET', 'labels/nonsense')).status).toBe(400)
  })
})
