import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const stop = (machineId: string, failedAt: string, backInUseAt: string | undefined, more: object = {}) =>
  us.manager('POST', 'stoppages', { machineId, failedAt, ...(backInUseAt ? { backInUseAt } : {}), ...more })

beforeAll(async () => {
  // Monday, 1 June 2026, 12:00 in Berlin.
  api = await startTestApi('2026-06-01T10:00:00Z')
  us = await makeOrganisation(api, 'north')
  await us.manager('PATCH', `warehouses/${us.north}`, { stoppageCostPerHour: 100 })
})
afterAll(() => api.close())

describe('stoppages', () => {
  it('are told once, added to when told again, and closed', async () => {
    const first = await us.instructed('POST', 'stoppages', { machineId: us.machineId, failureMode: 'jammed', reportedBy: 'Packer at A01' })
    expect(first).toMatchObject({ status: 201, body: { open: true, planned: false, failureMode: 'jammed', station: { name: 'A01' } } })
    const again = await us.technician('POST', 'stoppages', { machineId: us.machineId, failureMode: 'no_feed' })
    expect(again.body.id).toBe(first.body.id)
    expect(again.body.note).toBe('Reported again by technician: no feed')
    expect((await us.manager('GET', `machines/${us.machineId}`)).body).toMatchObject({
      stopped: true,
      openStoppage: { failureMode: 'jammed' },
    })
    const closed = await us.instructed('POST', `stoppages/${first.body.id}/closing`, { cause: 'damp_tape' })
    expect(closed.body).toMatchObject({ open: false, cause: 'damp_tape' })
    expect((await us.instructed('POST', `stoppages/${first.body.id}/closing`, {})).body.code).toBe('CLOSED_ALREADY')
  })
  it('have moments that follow each other', async () => {
    const wrong = await stop(us.machineId, '2026-05-20T10:00:00Z', '2026-05-20T09:00:00Z')
    expect(wrong.body).toMatchObject({ code: 'MOMENTS_CROSS', errors: [{ pointer: '/backInUseAt' }] })
    expect((await stop(us.machineId, '2026-07-01T10:00:00Z', undefined)).body.code).toBe('IN_THE_FUTURE')
    const id = newId()
    const good = await stop(us.machineId, '2026-04-01T08:00:00Z', '2026-04-01T09:00:00Z', { id })
    expect((await us.manager('PATCH', `stoppages/${id}`, { repairedAt: '2026-04-01T10:00:00Z' })).body.code).toBe('MOMENTS_CROSS')
    expect(
      (await us.manager('PATCH', `stoppages/${id}`, { repairedAt: '2026-04-01T08:45:00Z', version: good.body.version })).body.repairedAt,
    ).toBe('2026-04-01T08:45:00.000Z')
  })
})

describe('the review of May 2026', () => {
  let body: Json
  beforeAll(async () => {
    // In Berlin (UTC+2): Tue 5 May 08:00–11:00, all 3 h in the shift 06:00–14:00.
    await stop(us.machineId, '2026-05-05T06:00:00Z', '2026-05-05T09:00:00Z', { planned: true, cause: 'planned_work' })
    // Wed 6 May 10:00–20:00: 10 h, of which 4 in the shift.
    await stop(us.machineId, '2026-05-06T08:00:00Z', '2026-05-06T18:00:00Z')
    // Overlaps it by 2 h, 18:00–22:00: 2 h more, none in the shift.
    await stop(us.machineId, '2026-05-06T16:00:00Z', '2026-05-06T20:00:00Z')
    // From before the period, Thu 30 April 22:00, to Fri 1 May 07:00: 7 h in May, 1 of them in the shift.
    await stop(us.machineId, '2026-04-30T20:00:00Z', '2026-05-01T05:00:00Z')
    await stop(us.farMachineId, '2026-05-12T12:00:00Z', '2026-05-12T13:00:00Z')
    body = (await us.manager('GET', 'review?from=2026-05-01&to=2026-05-31')).body
  })

  it('has hours, counts and cost as worked by hand, the worst first', () => {
    expect(body.machines.map((one: Json) => one.labelCode)).toEqual(['N-01', 'S-01'])
    expect(body.machines[0]).toMatchObject({
      stoppages: 3,
      planned: 1,
      unplanned: 2,
      // 3 planned + 12 of the two that overlap + 7 of the one from April.
      hoursStopped: expect.closeTo(22, 9),
      hoursStoppedUnplanned: expect.closeTo(19, 9),
      hoursStoppedWithinShifts: expect.closeTo(8, 9),
      // 31 days of 24 hours, in service since January.
      hoursObserved: expect.closeTo(744, 9),
      availability: expect.closeTo(1 - 22 / 744, 9),
      // Unplanned within shifts: 4 + 1 hours at 100.
      cost: expect.closeTo(500, 9),
    })
    expect(body.machines[0].meanHoursBetweenStoppages).toMatchObject({ value: expect.closeTo(372, 9), n: 2, hiddenReason: null })
    expect(body.totals).toMatchObject({
      machines: 2,
      stoppages: 4,
      planned: 1,
      unplanned: 3,
      hoursStopped: expect.closeTo(23, 9),
      cost: expect.closeTo(500, 9),
      currency: 'EUR',
    })
  })
  it('says the cost of each machine in the currency of its warehouse, and none over two of them', async () => {
    const paid = { currency: 'USD', stoppageCostPerHour: 30 }
    const { body: before } = await us.manager('GET', `warehouses/${us.south}`)
    await us.administrator('PATCH', `warehouses/${us.south}`, paid)
    const review = (await us.manager('GET', 'review?from=2026-05-01&to=2026-05-31')).body
    expect(review.machines.map(({ labelCode, cost, currency }: Json) => [labelCode, cost, currency])).toEqual([
      ['N-01', expect.closeTo(500, 9), 'EUR'],
      ['S-01', expect.closeTo(30, 9), 'USD'],
    ])
    expect(review.totals).toMatchObject({ cost: null, currency: null })
    const { currency, stoppageCostPerHour } = before
    await us.administrator('PATCH', `warehouses/${us.south}`, { currency, stoppageCostPerHour })
  })
  it('calls no machine worse than the others on two stoppages', () => {
    expect(body.machines.map((one: Json) => one.standsOut)).toEqual([false, false])
    expect(body.sentences.at(-1)).toContain('No machine stood still more often than chance explains')
  })
  it('shows no figure over the fleet from fewer than five', () => {
    expect(body.measures.length).toBeGreaterThanOrEqual(10)
    const between = body.measures.find((one: Json) => one.key === 'mean_hours_between')
    expect(between.estimate).toEqual({
      value: null,
      low: null,
      high: null,
      n: 3,
      hiddenReason: 'Only 3 in this period; at least 5 are needed.',
    })
  })
  it('agrees with the rows behind it', async () => {
    const { items } = (await us.manager('GET', `stoppages?machineId=${us.machineId}&from=2026-05-01&to=2026-05-31`)).body
    expect(items).toHaveLength(4)
  })
})

describe('parts', () => {
  it('are kept by warehouse, with the machine types they fit', async () => {
    const part = (
      await us.manager('POST', 'parts', {
        name: 'Blade',
        stockCode: 'K-1',
        componentKey: 'blade',
        price: 12.5,
        fitsMachineTypeIds: [us.machineTypeId],
      })
    ).body
    expect(part).toMatchObject({ price: 12.5, fits: [{ name: 'Long-strip electric' }], stock: [] })
    const stocked = await us.manager('PUT', `parts/${part.id}/stock/${us.north}`, { onHand: 3, onOrder: 1, leadTimeDays: 10 })
    expect(stocked.body.stock).toEqual([
      { warehouseId: us.north, warehouseName: 'North', onHand: 3, reserved: 0, onOrder: 1, leadTimeDays: 10, leadTimeSpreadDays: 0 },
    ])
    expect((await us.manager('PUT', `parts/${part.id}/stock/${us.north}`, { onHand: -1, leadTimeDays: 10 })).status).toBe(400)
    expect((await us.manager('GET', 'part-needs')).body).toEqual({ items: [] })
    expect((await us.manager('GET', 'parts?search=k-')).body.items).toHaveLength(1)
  })
})

describe('the desk', () => {
  it('says who waits for what, and what has not moved', async () => {
    const week = (await us.manager('GET', 'this-week')).body
    expect(week.warehouses.map((one: Json) => one.name)).toEqual(['North', 'South'])
    expect(week.warehouses[1].sentences).toEqual([
      { kind: 'nothing', count: 0, text: 'No care is due this week. A tag on a machine counts more than this screen.' },
    ])
    expect(week.warehouses[0].weeks).toHaveLength(8)
    // Five working days of 8 h.
    expect(week.warehouses[0].weeks[0]).toMatchObject({ weekStart: '2026-06-01', openDays: 5, shiftMinutes: 2400 })
    const health = (await us.manager('GET', 'health')).body
    expect(health.warehouses[0]).toMatchObject({ name: 'North', plannedOn: null })
    expect(health.warehouses[0].changesNotPlanned).toBeGreaterThan(0)
    // The api of the tests is served without TLS, and its role may bypass nothing.
    const { notSafe } = (await us.manager('GET', 'installation')).body
    expect(notSafe.map(({ what }: Json) => what)).toEqual([expect.stringContaining('without TLS: passwords and entries')])
    expect((await us.manager('GET', 'coming-up?weeks=4')).body).toMatchObject({
      from: '2026-06-01',
      to: '2026-06-28',
      items: [],
      nextCursor: null,
    })
  })
})
