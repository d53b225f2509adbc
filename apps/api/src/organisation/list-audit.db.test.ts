/** Who changed what: everything is named, and one machine's page is told of all that belongs to the machine and of nothing else. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

const ask = async (method: 'POST' | 'PATCH', path: string, body: Json): Promise<Json> => {
  const reply = await us.manager(method, path, body)
  if (reply.status >= 300) throw new Error(`${path}: ${JSON.stringify(reply.body)}`)
  return reply.body
}
const audit = async (query: string): Promise<Json[]> => (await us.manager('GET', `audit?limit=200${query}`)).body.items

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  await ask('PATCH', `machines/${us.machineId}`, { serialNumber: 'S-9' })
  await ask('POST', 'evidence', { kind: 'strips_day', machineId: us.machineId, day: '2026-05-01', strips: 500 })
  const stoppage = await ask('POST', 'stoppages', { machineId: us.machineId })
  await ask('POST', `stoppages/${stoppage.id}/closing`, {})
  await ask('POST', 'parts', { name: 'Brush set', stockCode: 'B-1' })
  await ask('POST', 'visits', { warehouseId: us.north, visitOn: '2026-05-11' })
  await ask('PATCH', `stations/${us.station}`, { stripsPerCarton: 3 })
  await ask('PATCH', `machine-types/${us.machineTypeId}`, { name: 'Long-strip' })
  await ask('PATCH', `machines/${us.farMachineId}`, { note: 'far' })
})
afterAll(() => api.close())

describe('who changed what', () => {
  it('is named as it is called now', async () => {
    const named = new Map((await audit('')).map(({ subjectKind, subjectName }) => [subjectKind, subjectName]))
    expect(Object.fromEntries(named)).toMatchObject({
      machine: expect.stringMatching(/^[NS]-01$/),
      evidence: 'N-01',
      stoppage: 'N-01',
      part: 'Brush set',
      visit: '2026-05-11',
      station: 'A01',
      'machine type': 'Long-strip',
      warehouse: expect.any(String),
      person: expect.any(String),
    })
  })

  it('of a machine is all that belongs to it, newest first, a page at a time, and of no other', async () => {
    const all = await audit(`&machineId=${us.machineId}`)
    expect(all.map(({ subjectKind, action }) => `${subjectKind}: ${action}`)).toEqual([
      'stoppage: close',
      'stoppage: report',
      'evidence: give evidence',
      'machine: change',
      'machine: create',
    ])
    expect(all.every(({ subjectName }) => subjectName === 'N-01')).toBe(true)
    const first = (await us.manager('GET', `audit?limit=2&machineId=${us.machineId}`)).body
    const second = (await us.manager('GET', `audit?limit=3&machineId=${us.machineId}&cursor=${first.nextCursor}`)).body
    expect([...first.items, ...second.items]).toEqual(all)
    expect((await us.manager('GET', `audit?machineId=${us.organisationId}`)).status).toBe(404)
  })
})
