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

describe('registering', () => {
  it('puts a machine in the books with its place, its components not known, and asks for a pass', async () => {
    const { body } = await us.manager('GET', `machines/${us.machineId}`)
    expect(body).toMatchObject({
      labelCode: 'N-01',
      status: 'in_service',
      registeredOn: '2026-05-04',
      commissionedOn: null,
      station: { name: 'A01', line: 'A' },
      placements: [{ fromAt: '2026-01-05T06:00:00.000Z', toAt: null }],
      next: null,
      notices: [],
    })
    const components = (await us.manager('GET', `machines/${us.machineId}/components`)).body.items
    expect(components.map((one: Json) => one.componentType.key)).toContain('motor_brush_set')
    expect(components.every((one: Json) => one.newOn === null && one.fromDate === null && one.usedStrips === null)).toBe(true)
    expect(api.planned).toContain(us.north)
  })

  it('refuses a label or serial number twice, a station of another warehouse, an unknown type', async () => {
    const machine = { serialNumber: 'X', labelCode: 'X-1', machineTypeId: us.machineTypeId, placement: { warehouseId: us.north } }
    const twice = await us.manager('POST', 'machines', { ...machine, labelCode: 'N-01' })
    expect(twice).toMatchObject({ status: 409, body: { code: 'ALREADY_THERE', detail: 'Another machine has this label code.' } })
    const serial = await us.manager('POST', 'machines', { ...machine, serialNumber: 'S-N-01' })
    expect(serial).toMatchObject({ status: 409, body: { detail: 'Another machine of this type has this serial number.' } })
    const place = await us.manager('POST', 'machines', { ...machine, placement: { warehouseId: us.south, stationId: us.station } })
    expect(place).toMatchObject({ status: 422, body: { code: 'UNKNOWN_STATION', errors: [{ pointer: '/placement/stationId' }] } })
    const type = await us.manager('POST', 'machines', { ...machine, machineTypeId: us.north })
    expect(type).toMatchObject({ status: 422, body: { code: 'UNKNOWN_MACHINE_TYPE' } })
  })

  it('registers many, all or none', async () => {
    const machine = (n: number, labelCode = `B-${n}`) => ({
      serialNumber: `B${n}`,
      labelCode,
      machineTypeId: us.machineTypeId,
      placement: { warehouseId: us.north },
    })
    const none = await us.manager('POST', 'machines/bulk', { machines: [machine(1), machine(2), machine(3, 'N-01')] })
    expect(none.status).toBe(409)
    const before = (await us.manager('GET', 'machines?search=B-')).body.items.length
    expect(before).toBe(0)
    const all = await us.manager('POST', 'machines/bulk', { machines: [machine(1), machine(2), machine(3)] })
    expect(all.body.items.map((one: Json) => one.labelCode)).toEqual(['B-1', 'B-2', 'B-3'])
  })

  it('lists by pages, in each order, every machine once', async () => {
    for (const order of ['label', 'walking', 'due']) {
      const seen: string[] = []
      let cursor = ''
      do {
        const { body } = await us.manager('GET', `machines?limit=2&order=${order}${cursor}`)
        seen.push(...body.items.map((one: Json) => one.id))
        cursor = body.nextCursor ? `&cursor=${body.nextCursor}` : ''
      } while (cursor)
      expect(new Set(seen).size).toBe(seen.length)
      expect(seen.length).toBe(5)
    }
  })

  it('finds by label in either case, and shows a technician only what they serve', async () => {
    expect((await us.technician('GET', 'machine-labels/n-01')).body.id).toBe(us.machineId)
    expect((await us.technician('GET', 'machine-labels/S-01')).status).toBe(404)
    const own = (await us.technician('GET', 'machines')).body.items
    expect(own.every((one: Json) => one.warehouse.id === us.north)).toBe(true)
  })
})

describe('moving', () => {
  it('keeps every placement, end to end, and both warehouses are planned anew', async () => {
    api.planned.length = 0
    const moved = await us.manager('POST', `machines/${us.machineId}/moves`, { warehouseId: us.south, at: '2026-05-03T12:00:00Z' })
    expect(moved.body.placements).toMatchObject([
      { warehouse: { id: us.south }, fromAt: '2026-05-03T12:00:00.000Z', toAt: null },
      { warehouse: { id: us.north }, toAt: '2026-05-03T12:00:00.000Z' },
    ])
    expect(new Set(api.planned)).toEqual(new Set([us.north, us.south]))
    const back = await us.manager('POST', `machines/${us.machineId}/moves`, { warehouseId: us.north, stationId: us.station })
    expect(back.body.placements).toHaveLength(3)
  })

  it.each([
    ['before the last move', { at: '2026-01-01T00:00:00Z' }, 'BEFORE_LAST_MOVE'],
    ['in the future', { at: '2026-06-01T00:00:00Z' }, 'IN_THE_FUTURE'],
  ])('refuses one %s', async (_what, more, code) => {
    const reply = await us.manager('POST', `machines/${us.machineId}/moves`, { warehouseId: us.north, ...more })
    expect(reply).toMatchObject({ status: 422, body: { code, errors: [{ pointer: '/at' }] } })
  })

  it('a technician moves within the warehouses they serve', async () => {
    expect((await us.technician('POST', `machines/${us.machineId}/moves`, { warehouseId: us.south })).status).toBe(404)
    expect((await us.technician('POST', `machines/${us.machineId}/moves`, { warehouseId: us.north, stationId: us.station })).status).toBe(
      200,
    )
  })

  it('a tag says why, counts more than any date, and is taken off by the desk alone', async () => {
    const path = `machines/${us.machineId}/status`
    expect((await us.technician('POST', path, { status: 'tagged_out' })).body.code).toBe('REASON_NEEDED')
    const tagged = await us.technician('POST', path, { status: 'tagged_out', reason: 'cord damaged' })
    expect(tagged.body.notices[0]).toBe('Tagged out since 2026-05-04: cord damaged. Do not use it.')
    expect((await us.technician('POST', path, { status: 'in_service' })).status).toBe(403)
    expect((await us.manager('POST', path, { status: 'in_service', reason: 'cord replaced' })).body.status).toBe('in_service')
  })
})

describe('components', () => {
  it('go out with a reason and in with their age; two of a kind do not fit', async () => {
    const path = `machines/${us.machineId}/components`
    const brush = (await us.manager('GET', path)).body.items.find((one: Json) => one.componentType.key === 'motor_brush_set')
    expect((await us.technician('POST', path, { componentKey: 'motor_brush_set', fittedOn: '2026-05-04' })).body.code).toBe(
      'COMPONENT_IN_PLACE',
    )
    const out = await us.technician('POST', `${path}/${brush.componentId}/removal`, { removedOn: '2026-05-04', reason: 'worn' })
    expect(out.body).toMatchObject({ toDate: '2026-05-04', removalReason: 'worn' })
    const fitted = await us.technician('POST', path, { componentKey: 'motor_brush_set', fittedOn: '2026-05-04' })
    expect(fitted).toMatchObject({
      status: 201,
      body: { newOn: '2026-05-04', usedStrips: 0, limits: { planMm: 9.5, neverBelowMm: 6.4, stated: true } },
    })
    const elsewhere = await us.manager('POST', `machines/${us.farMachineId}/components`, {
      componentKey: 'motor_brush_set',
      fittedOn: '2026-05-04',
      componentId: fitted.body.componentId,
    })
    expect(['COMPONENT_IN_A_MACHINE', 'COMPONENT_IN_PLACE']).toContain(elsewhere.body.code)
  })
})

describe('a change by two at once', () => {
  it('is refused to the second, who read an older version', async () => {
    const { version } = (await us.manager('GET', `machines/${us.machineId}`)).body
    expect((await us.manager('PATCH', `machines/${us.machineId}`, { note: 'first', version })).status).toBe(200)
    const second = await us.manager('PATCH', `machines/${us.machineId}`, { note: 'second', version })
    expect(second).toMatchObject({ status: 409, body: { code: 'CHANGED_MEANWHILE' } })
  })
})

describe('the audit', () => {
  it('says who changed what, before and after', async () => {
    const { items } = (await us.manager('GET', `audit?subjectKind=machine&subjectId=${us.machineId}&limit=200`)).body
    const note = items.find((one: Json) => one.action === 'change')
    expect(note).toMatchObject({ actor: 'manager', before: { note: '' }, after: { note: 'first' } })
    expect(note.requestId).toMatch(/^[0-9a-f-]{36}$/)
  })
})
