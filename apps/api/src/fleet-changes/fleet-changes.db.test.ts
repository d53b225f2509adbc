import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const get = async (path: string): Promise<Json> => (await us.manager('GET', path)).body
let nowMs = Date.parse('2026-05-04T08:00:00Z')
const later = (minutes: number): void => api.clock.set(new Date((nowMs += minutes * 60_000)))

async function registered(count: number, labelPrefix: string): Promise<Json> {
  const body = { machineTypeId: us.machineTypeId, warehouseId: us.north, count, labelPrefix }
  const reply = await us.manager('POST', 'machines/counted', body)
  expect(reply.status).toBe(201)
  return reply.body
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('fifty machines of one type', () => {
  it('come into the books with labels counted on, and leave them again while nothing hangs on them', async () => {
    const first = await registered(50, 'F-')
    expect(first.machines.map((one: Json) => one.labelCode)).toEqual(
      Array.from({ length: 50 }, (_, index) => `F-${String(index + 1).padStart(3, '0')}`),
    )
    expect(first.change).toMatchObject({ kind: 'registered', words: 'registered: F-001 to F-050', machineCount: 50, undoneAt: null })
    const undone = await us.manager('POST', `fleet-changes/${first.change.id}/undo`)
    expect([undone.status, undone.body.putBack, undone.body.leftAsTheyAre]).toEqual([200, 50, []])
    expect((await get('machines?search=F-0')).items).toEqual([])
    expect((await us.manager('POST', `fleet-changes/${first.change.id}/undo`)).body.code).toBe('UNDONE_ALREADY')
    expect((await registered(2, 'F-')).machines[0].labelCode).toBe('F-001')
  })

  it('stay once something hangs on one of them', async () => {
    const { change, machines } = await registered(3, 'H-')
    await us.manager('POST', 'stoppages', { machineId: machines[1].id, failureMode: 'jammed' })
    expect(await us.manager('POST', `fleet-changes/${change.id}/undo`)).toMatchObject({ status: 409, body: { code: 'STILL_NEEDED' } })
    expect((await get('machines?search=H-0')).items).toHaveLength(3)
  })

  it('say what is wrong with a beginning of a label, and with too many', async () => {
    const body = { machineTypeId: us.machineTypeId, warehouseId: us.north, count: 2 }
    expect((await us.manager('POST', 'machines/counted', { ...body, labelPrefix: 'Ä ' })).body.code).toBe('NO_LABEL')
    expect((await us.manager('POST', 'machines/counted', { ...body, count: 201 })).status).toBe(400)
    expect((await us.manager('POST', 'machines/counted', { ...body, warehouseId: newId() })).status).toBe(404)
  })
})

describe('many changed at once', () => {
  it('are changed all or none, and put back but for what somebody changed since', async () => {
    const { machines } = await registered(4, 'C-')
    const machineIds = machines.map((one: Json) => one.id)
    later(10)
    const fields = { tape: 'reinforced', serviceFirm: 'Band & Sohn', commissionedOn: '2024-02-01' }
    const { status, body } = await us.manager('POST', 'fleet-changes', {
      machineIds,
      fields,
      status: { status: 'on_the_shelf', reason: 'quiet season' },
    })
    expect([status, body.machineCount]).toEqual([201, 4])
    expect(body.words).toBe('commissioned on: 2024-02-01; service firm: Band & Sohn; tape: reinforced; on the shelf (quiet season)')
    expect(await get(`machines/${machineIds[2]}`)).toMatchObject({ ...fields, status: 'on_the_shelf' })
    later(10)
    await us.manager('PATCH', `machines/${machineIds[3]}`, { tape: 'plain' })
    const undone = (await us.manager('POST', `fleet-changes/${body.id}/undo`)).body
    expect([undone.putBack, undone.leftAsTheyAre]).toEqual([3, ['C-004']])
    const back = await get(`machines/${machineIds[0]}`)
    expect(back).toMatchObject({ tape: 'unknown', serviceFirm: '', commissionedOn: null, status: 'in_service' })
    // Taken back is a change again: the time on the shelf stays in its history.
    expect(back.statusPeriods.map((one: Json) => [one.status, one.reason])).toEqual([
      ['in_service', 'taken back'],
      ['on_the_shelf', 'quiet season'],
      ['in_service', 'registered'],
    ])
    expect(await get(`machines/${machineIds[3]}`)).toMatchObject({ tape: 'plain', status: 'on_the_shelf' })
  })

  it('leave nothing where one of them is not ours, or nothing would change', async () => {
    const { machines } = await registered(2, 'E-')
    const machineIds = machines.map((one: Json) => one.id)
    expect((await us.manager('POST', 'fleet-changes', { machineIds: [...machineIds, newId()], fields: { tape: 'plain' } })).status).toBe(
      404,
    )
    expect((await get(`machines/${machineIds[0]}`)).tape).toBe('unknown')
    expect((await us.manager('POST', 'fleet-changes', { machineIds, fields: { tape: 'unknown' } })).status).toBe(201)
    expect((await us.manager('POST', 'fleet-changes', { machineIds, status: { status: 'in_service' } })).body.code).toBe('NOTHING_CHANGED')
    expect((await us.manager('POST', 'fleet-changes', { machineIds })).status).toBe(400)
  })

  it('move together, and back', async () => {
    const { machines } = await registered(3, 'M-')
    const machineIds = machines.map((one: Json) => one.id)
    later(10)
    const moved = (await us.manager('POST', 'fleet-changes', { machineIds, place: { warehouseId: us.south } })).body
    expect(moved.words).toBe('moved to South')
    expect((await get(`machines/${machineIds[1]}`)).warehouse.id).toBe(us.south)
    later(10)
    expect((await us.manager('POST', `fleet-changes/${moved.id}/undo`)).body.putBack).toBe(3)
    const back = await get(`machines/${machineIds[1]}`)
    expect([back.warehouse.id, back.placements.length]).toEqual([us.north, 3])
    expect((await get('fleet-changes')).items[0]).toMatchObject({ id: moved.id, kind: 'changed', undoneAt: expect.any(String) })
  })
})

describe('a spare', () => {
  it('takes a machine’s place at its station, each with its own history, and gives it back', async () => {
    const spare = (await registered(1, 'SP-')).machines[0].id
    later(10)
    await us.manager('POST', `machines/${spare}/status`, { status: 'on_the_shelf', reason: 'spare' })
    later(10)
    const ask = { spareMachineId: spare, status: 'at_the_bench', reason: 'slips' }
    const swap = await us.technician('POST', `machines/${us.machineId}/swap`, ask)
    expect([swap.status, swap.body.words]).toEqual([201, 'SP-001 took the place of N-01 (at the bench)'])
    const [out, into] = [await get(`machines/${us.machineId}`), await get(`machines/${spare}`)]
    expect([out.status, out.station, out.placements.length]).toEqual(['at_the_bench', null, 2])
    expect([into.status, into.station.id, into.placements.length]).toEqual(['in_service', us.station, 2])
    expect((await us.technician('POST', `machines/${spare}/swap`, { ...ask, spareMachineId: spare })).body.code).toBe('SAME_MACHINE')
    later(10)
    expect((await us.manager('POST', `fleet-changes/${swap.body.id}/undo`)).status).toBe(200)
    expect((await get(`machines/${us.machineId}`)).station.id).toBe(us.station)
    expect(await get(`machines/${spare}`)).toMatchObject({ status: 'on_the_shelf', station: null })
  })

  it('is none while it works elsewhere, is tagged out or retired', async () => {
    const [one, two] = (await registered(2, 'ST-')).machines.map(({ id }: Json) => id)
    later(10)
    await us.manager('POST', 'machine-labels/ST-001/standing', { stationName: 'X01' })
    const swap = (spareMachineId: string) => us.manager('POST', `machines/${us.machineId}/swap`, { spareMachineId, status: 'retired' })
    expect((await swap(one)).body.code).toBe('IN_USE')
    await us.manager('POST', `machines/${two}/status`, { status: 'tagged_out', reason: 'smoke' })
    expect((await swap(two)).body.code).toBe('TAGGED_OUT')
    later(10)
    await us.manager('POST', `machines/${two}/status`, { status: 'retired' })
    expect((await swap(two)).body.code).toBe('RETIRED')
    expect((await get(`machines/${us.machineId}`)).status).toBe('in_service')
  })
})
