/** One stoppage: told, told again, put right, closed; by whom, and where it counts. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const tell = async (body: object): Promise<Json> => {
  const { status, body: told } = await us.manager('POST', 'stoppages', { machineId: us.machineId, ...body })
  expect([status, told.detail]).toEqual([201, undefined])
  return told
}
const get = async (id: string): Promise<Json> => (await us.manager('GET', `stoppages/${id}`)).body
const auditOf = async (id: string): Promise<Json[]> => {
  const { items } = (await us.administrator('GET', 'audit?limit=200')).body
  return items.filter(({ subjectId }: Json) => subjectId === id)
}

beforeAll(async () => {
  // Monday, 1 June 2026, 12:00 in Berlin.
  api = await startTestApi('2026-06-01T10:00:00Z')
  us = await makeOrganisation(api, 'stoppages')
})
afterAll(() => api.close())

describe('told at the desk', () => {
  it('with an offset other than that of the server keeps its moments in order', async () => {
    const told = await tell({ failedAt: '2026-05-20T09:00:00+02:00', backInUseAt: '2026-05-20T11:00:00+02:00' })
    expect(told).toMatchObject({ failedAt: '2026-05-20T07:00:00.000Z', reportedAt: null, backInUseAt: '2026-05-20T09:00:00.000Z' })
    expect((await us.manager('PATCH', `stoppages/${told.id}`, { note: 'roll of damp tape' })).body.note).toBe('roll of damp tape')
    expect((await us.manager('PATCH', `stoppages/${told.id}`, { reportedBy: 'Bo' })).body).toMatchObject({
      reportedBy: 'Bo',
      note: 'roll of damp tape',
    })
  })

  it('with work on it begun was not told only now', async () => {
    const told = await tell({ failedAt: '2026-06-01T06:00:00Z', workBegunAt: '2026-06-01T07:00:00Z', noticedAt: null })
    expect(told).toMatchObject({ noticedAt: null, reportedAt: null, workBegunAt: '2026-06-01T07:00:00.000Z' })
    await us.manager('POST', `stoppages/${told.id}/closing`, {})
  })

  it('for a time when it stood elsewhere counts where it stood then', async () => {
    const { body: station } = await us.administrator('POST', 'stations', { warehouseId: us.south, name: 'D09', line: 'D' })
    await us.manager('POST', `machines/${us.farMachineId}/moves`, {
      warehouseId: us.north,
      stationId: us.station,
      at: '2026-05-15T00:00:00Z',
    })
    await us.manager('POST', `machines/${us.farMachineId}/moves`, {
      warehouseId: us.south,
      stationId: station.id,
      at: '2026-05-20T00:00:00Z',
    })
    const told = await tell({ machineId: us.farMachineId, failedAt: '2026-05-16T08:00:00Z', backInUseAt: '2026-05-16T09:00:00Z' })
    expect(told).toMatchObject({ warehouse: { name: 'North', zone: 'Europe/Berlin' }, station: { name: 'A01' } })
    const moved = await us.manager('PATCH', `stoppages/${told.id}`, {
      failedAt: '2026-05-21T08:00:00Z',
      noticedAt: null,
      backInUseAt: '2026-05-21T09:00:00Z',
    })
    expect(moved.body).toMatchObject({ warehouse: { name: 'South', zone: 'America/Chicago' }, station: { name: 'D09' } })
  })

  it('a second time is added to the first in words, with its earlier moment', async () => {
    const first = await tell({ failedAt: '2026-06-01T08:00:00Z', failureMode: 'jammed' })
    const again = await tell({ id: newId(), failedAt: '2026-06-01T06:30:00Z', failureMode: 'no_feed', reportedBy: 'Ada, by telephone' })
    expect(again).toMatchObject({ id: first.id, failedAt: first.failedAt, version: 2 })
    expect(again.note).toBe('Reported again by Ada, by telephone, who says since 1 Jun 2026, 08:30: no feed')
    expect(new Set((await auditOf(first.id)).map(({ action }) => action))).toEqual(new Set(['report', 'report again']))
    // One that was over before is another one.
    const over = await tell({ failedAt: '2026-05-29T06:00:00Z', backInUseAt: '2026-05-29T07:00:00Z' })
    expect(over.id).not.toBe(first.id)
    const refused = await us.manager('PATCH', `stoppages/${over.id}`, { backInUseAt: null })
    expect(refused).toMatchObject({ status: 409, body: { code: 'STANDS_STILL_ALREADY', errors: [{ pointer: '/backInUseAt' }] } })
    expect(refused.body.detail).toContain('N-01 stands still already, since 1 Jun 2026, 10:00')
    await us.manager('POST', `stoppages/${first.id}/closing`, {})
    expect((await us.manager('PATCH', `stoppages/${over.id}`, { backInUseAt: null })).body.open).toBe(true)
    await us.manager('POST', `stoppages/${over.id}/closing`, { backInUseAt: '2026-05-29T07:00:00Z' })
  })
})

describe('put right', () => {
  it('moves its own hours, those of the list and those of the review alike, and says in the history from what to what', async () => {
    const told = await tell({ failedAt: '2026-04-14T08:00:00Z', backInUseAt: '2026-04-14T18:00:00Z' })
    const { body } = await us.manager('PATCH', `stoppages/${told.id}`, {
      backInUseAt: '2026-04-14T10:30:00Z',
      waits: [{ reason: 'part', fromAt: '2026-04-14T09:00:00Z', toAt: '2026-04-14T10:00:00Z' }],
      version: told.version,
    })
    expect(body.durations).toMatchObject({ totalHours: 2.5, logisticHours: 1, activeHours: 1.5 })
    const one = await get(told.id)
    expect(one.durations).toEqual(body.durations)
    expect(one.spans).toEqual([
      { kind: 'active', fromAt: '2026-04-14T08:00:00.000Z', toAt: '2026-04-14T09:00:00.000Z' },
      { kind: 'logistic', fromAt: '2026-04-14T09:00:00.000Z', toAt: '2026-04-14T10:00:00.000Z' },
      { kind: 'active', fromAt: '2026-04-14T10:00:00.000Z', toAt: '2026-04-14T10:30:00.000Z' },
    ])
    const month = 'from=2026-04-01&to=2026-04-30'
    const review = (await us.manager('GET', `review?${month}`)).body
    const { items } = (await us.manager('GET', `stoppages?${month}`)).body
    expect([review.totals.hoursStopped, review.split.logisticHours, ...items.map(({ durations }: Json) => durations.totalHours)]).toEqual([
      2.5, 1, 2.5,
    ])
    const entry = (await auditOf(told.id)).find(({ action }) => action === 'change')
    expect([entry.before.backInUseAt, entry.after.backInUseAt]).toEqual(['2026-04-14T18:00:00.000Z', '2026-04-14T10:30:00.000Z'])
  })

  it('from an old reading is refused, and changes nothing', async () => {
    const told = await tell({ failedAt: '2026-04-20T08:00:00Z', backInUseAt: '2026-04-20T09:00:00Z' })
    await us.technician('PATCH', `stoppages/${told.id}`, { cause: 'wear', version: told.version })
    const stale = await us.manager('PATCH', `stoppages/${told.id}`, { cause: 'damp_tape', note: 'mine', version: told.version })
    expect(stale).toMatchObject({ status: 409, body: { code: 'CHANGED_MEANWHILE' } })
    expect(await get(told.id)).toMatchObject({ cause: 'wear', note: '' })
  })

  it('says once closed since when, by the clocks of the warehouse', async () => {
    const told = await tell({ failedAt: '2026-06-01T09:00:00Z' })
    expect((await us.technician('POST', `stoppages/${told.id}/closing`, { backInUseAt: '2026-06-01T08:00:00Z' })).body).toMatchObject({
      code: 'MOMENTS_CROSS',
      errors: [{ pointer: '/backInUseAt', message: 'This lies before it was reported, 1 Jun 2026, 12:00.' }],
    })
    await us.technician('POST', `stoppages/${told.id}/closing`, { cause: 'foreign_body', note: 'a strip of liner' })
    expect((await us.technician('POST', `stoppages/${told.id}/closing`, {})).body).toMatchObject({
      code: 'CLOSED_ALREADY',
      detail: 'It was back in use on 1 Jun 2026, 12:00 already.',
    })
  })
})

describe('a technician', () => {
  it('of another warehouse neither reads nor touches it, until the machine comes to stand in theirs', async () => {
    const told = await tell({ machineId: us.farMachineId, failedAt: '2026-06-01T07:00:00Z' })
    const tries = async () => [
      (await us.technician('GET', `stoppages/${told.id}`)).status,
      (await us.technician('PATCH', `stoppages/${told.id}`, { cause: 'wear' })).status,
      (await us.technician('POST', `stoppages/${told.id}/closing`, {})).status,
    ]
    expect(await tries()).toEqual([404, 404, 404])
    expect(await get(told.id)).toMatchObject({ cause: 'unknown', open: true, version: 1 })
    await us.manager('POST', `machines/${us.farMachineId}/moves`, { warehouseId: us.north })
    // What joins the open one is answered, too.
    const more = { failureMode: 'unknown', cause: 'knock_or_fall', note: 'at our bench' }
    expect((await us.technician('POST', 'stoppages', { machineId: us.farMachineId, ...more })).body).toMatchObject({
      id: told.id,
      note: 'Reported again by technician: cause knock or fall: at our bench',
    })
    expect(await tries()).toEqual([200, 200, 200])
    // Its hours stay those of the hall where it stood still.
    expect(await get(told.id)).toMatchObject({ warehouse: { name: 'South' }, open: false })
    expect((await us.technician('GET', 'stoppages?limit=200')).body.items.map(({ id }: Json) => id)).not.toContain(told.id)
  })
})
