import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

const tokenOf = async (machineId: string): Promise<string> => {
  const [row] = await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.rows<{ token: string }>('SELECT token FROM machine_label WHERE machine_id = $1 AND cancelled_at IS NULL', [machineId]),
  )
  return row?.token ?? ''
}

describe('machines as a phone keeps them', () => {
  it('hold what their page shows, by pages, and only those of the warehouses one serves', async () => {
    await us.manager('POST', 'labels', { machineIds: [us.machineId] })
    const stopped = { machineId: us.machineId, failedAt: '2026-05-04T07:00:00Z', failureMode: 'jammed', noticedHow: 'technician' }
    await us.technician('POST', 'stoppages', stopped)
    const seen: Json[] = []
    let cursor = ''
    do {
      const { body } = await us.technician('GET', `on-site-machines?limit=1${cursor}`)
      seen.push(...body.items)
      cursor = body.nextCursor ? `&cursor=${body.nextCursor}` : ''
    } while (cursor)
    expect(seen.map(({ labelCode }) => labelCode)).toEqual(['N-01'])
    expect(seen[0]).toMatchObject({
      id: us.machineId,
      labelToken: await tokenOf(us.machineId),
      status: 'in_service',
      warehouse: { id: us.north },
      station: { name: 'A01', line: 'A' },
      today: '2026-05-04',
      openStoppage: { failureMode: 'jammed' },
      openWorkOrders: [],
      care: [],
    })
    const all = (await us.manager('GET', 'on-site-machines')).body.items
    expect(all.map(({ id }: Json) => id)).toEqual(expect.arrayContaining([us.machineId, us.farMachineId]))
    expect((await us.instructed('GET', 'on-site-machines')).status).toBe(403)
  })

  it('say whose a machine is and whom to ask, where it is not ours to open', async () => {
    const { version } = (await us.manager('GET', `machines/${us.machineId}`)).body
    const leased = { owner: 'leased', mayOpen: 'service_firm_only', serviceFirm: 'Hale & Sons', serviceTelephone: '+44 20 5550 0101' }
    expect((await us.manager('PATCH', `machines/${us.machineId}`, { ...leased, version })).status).toBe(200)
    const [machine] = (await us.technician('GET', 'on-site-machines')).body.items
    expect(machine.notices).toEqual(['Not ours to open; it is leased. Ask Hale & Sons, +44 20 5550 0101.'])
  })

  it('open by the code of a printed label in either case, until a new label cancels it', async () => {
    const old = await tokenOf(us.machineId)
    expect((await us.technician('GET', `machine-labels/${old.toLowerCase()}`)).body.id).toBe(us.machineId)
    await us.manager('POST', 'labels', { machineIds: [us.machineId], fresh: true })
    expect((await us.technician('GET', `machine-labels/${old}`)).status).toBe(404)
    expect((await us.technician('GET', `machine-labels/${await tokenOf(us.machineId)}`)).body.id).toBe(us.machineId)
  })
})
