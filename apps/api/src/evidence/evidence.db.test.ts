import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const reading = (at: string, value: number, more: object = {}) => ({ kind: 'counter_reading', machineId: us.machineId, at, value, ...more })
const stateOf = async (id: string) => (await us.manager('GET', 'evidence?limit=200')).body.items.find((one: Json) => one.id === id)

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('one piece of evidence', () => {
  it('counts, is kept as given on the local day, and asks for a pass', async () => {
    api.planned.length = 0
    // 23:30 UTC on 3 March is 00:30 on the 4th in Berlin (UTC+1 in March).
    const reply = await us.technician('POST', 'evidence', reading('2026-03-03T23:30:00Z', 10_000))
    expect(reply).toMatchObject({ status: 200, body: { outcome: 'counted', code: null } })
    expect(await stateOf(reply.body.id)).toMatchObject({
      state: 'counted',
      fromDate: '2026-03-04',
      amount: 10_000,
      personName: 'technician',
      source: 'page',
    })
    expect(api.planned).toEqual([us.north])
  })

  it.each([
    ['a counter going backwards', '2026-03-10T08:00:00Z', 9_000, 'RUNS_BACKWARDS'],
    ['a reading in the future', '2026-05-05T08:00:00Z', 90_000, 'IN_THE_FUTURE'],
    // 20 strips a minute at most: 60 minutes cannot hold 1 300 strips.
    ['more than it can cut', '2026-03-04T00:30:00Z', 11_300, 'MORE_THAN_IT_CAN_CUT'],
  ])('%s is set aside with its reason and stops nothing', async (_what, at, value, code) => {
    const reply = await us.manager('POST', 'evidence', reading(at, value))
    expect(reply).toMatchObject({ status: 200, body: { outcome: 'set_aside', code } })
    expect(reply.body.reason.length).toBeGreaterThan(20)
    expect(await stateOf(reply.body.id)).toMatchObject({ state: 'set_aside', setAsideCode: code, setAsideReason: reply.body.reason })
    expect((await us.manager('GET', 'evidence?state=set_aside')).body.items.map((one: Json) => one.id)).toContain(reply.body.id)
  })

  it('a counter that rolled over at its modulus counts', async () => {
    const machineId = us.farMachineId
    await us.manager('POST', 'evidence', { kind: 'counter_reading', machineId, at: '2026-03-02T12:00:00Z', value: 999_500 })
    const over = await us.manager('POST', 'evidence', { kind: 'counter_reading', machineId, at: '2026-03-03T12:00:00Z', value: 300 })
    expect(over.body.outcome).toBe('counted')
  })

  it('the same id twice is one piece; a tap that does not know is kept too', async () => {
    const id = newId()
    const tap = { kind: 'monthly_tap', id, labelCode: 'N-01', month: '2026-04', runs: 'dont_know' }
    expect((await us.instructed('POST', 'evidence', tap)).body).toMatchObject({ id, outcome: 'counted' })
    expect((await us.instructed('POST', 'evidence', tap)).body).toMatchObject({ id, outcome: 'duplicate' })
    expect(await stateOf(id)).toMatchObject({ fromDate: '2026-04-01', toDate: '2026-04-30', amount: null, detail: { runs: 'dont_know' } })
  })

  it('of another warehouse is as unknown as none', async () => {
    const far = await us.technician('POST', 'evidence', { ...reading('2026-03-05T08:00:00Z', 1), machineId: us.farMachineId })
    const none = await us.technician('POST', 'evidence', { ...reading('2026-03-05T08:00:00Z', 1), machineId: newId() })
    expect([far.status, none.status]).toEqual([404, 404])
    expect({ ...far.body, instance: '' }).toEqual({ ...none.body, instance: '' })
  })
})

describe('in bulk', () => {
  it('judges each by itself', async () => {
    const items = [
      { kind: 'strips_day', labelCode: 'N-01', day: '2026-04-01', strips: 800, externalId: 'a' },
      { kind: 'strips_day', labelCode: 'N-01', day: '2026-04-02', strips: -3, externalId: 'b' },
      { kind: 'strips_day', labelCode: 'NO-SUCH', day: '2026-04-02', strips: 3, externalId: 'c' },
      { kind: 'cartons_day', stationId: us.station, day: '2026-04-02', cartons: 300, externalId: 'd' },
      { kind: 'strips_day', labelCode: 'N-01', day: '2026-04-03', strips: 29_000, externalId: 'e' },
      { kind: 'strips_day', labelCode: 'N-01', day: '2026-04-01', strips: 800, externalId: 'a' },
      { kind: 'strips_day', labelCode: 'N-01', day: '2026-04-01', strips: 801, externalId: 'a' },
      { kind: 'nonsense' },
    ]
    const { body } = await us.manager('POST', 'evidence/bulk', { source: 'packing system', warehouseId: us.north, items })
    // 20 strips a minute are 28 800 in 24 hours.
    expect(body.results.map((one: Json) => one.code)).toEqual([
      null,
      'INVALID_REQUEST',
      'UNKNOWN_MACHINE',
      null,
      'MORE_THAN_IT_CAN_CUT',
      'DUPLICATE',
      'DUPLICATE',
      'INVALID_REQUEST',
    ])
    expect(body).toMatchObject({ counted: 2, setAside: 3, duplicates: 1, refused: 2 })
    expect(body.results[1].errors).toEqual([{ pointer: '/items/1/strips', message: 'must not be negative' }])
    const again = await us.manager('POST', 'evidence/bulk', { source: 'packing system', warehouseId: us.north, items: items.slice(0, 1) })
    expect(again.body).toMatchObject({ counted: 0, duplicates: 1 })
  })

  it('a reading and a roll that come once more count once, whatever form their instants have', async () => {
    const sent = (at: string) => [
      { kind: 'counter_reading', labelCode: 'N-01', at, value: 30_000, externalId: 'read-1' },
      { kind: 'rolls', labelCode: 'N-01', fromDate: '2026-01-05', toDate: '2026-01-09', rolls: 2, rollMetres: 250, externalId: 'roll-1' },
    ]
    const post = async (items: object[]) =>
      (await us.manager('POST', 'evidence/bulk', { source: 'twice', warehouseId: us.north, items })).body as Json
    expect(await post(sent('2026-01-20T08:00:00Z'))).toMatchObject({ counted: 2, duplicates: 0 })
    expect(await post(sent('2026-01-20T09:00:00+01:00'))).toMatchObject({ counted: 0, duplicates: 2, setAside: 0 })
    expect(await post([{ ...sent('2026-01-20T08:01:00Z')[0] }])).toMatchObject({ counted: 0, duplicates: 0, setAside: 1 })
  })

  it('the same batch at the same moment counts once', async () => {
    const items = Array.from({ length: 40 }, (_, n) => ({
      kind: 'strips_day',
      labelCode: 'N-01',
      day: '2026-02-01',
      strips: n,
      externalId: `race-${n}`,
    }))
    const replies = await Promise.all(
      [1, 2, 3, 4].map(() => us.manager('POST', 'evidence/bulk', { source: 'race', warehouseId: us.north, items })),
    )
    expect(replies.map((reply) => reply.status)).toEqual([200, 200, 200, 200])
    expect(replies.reduce((sum, reply) => sum + reply.body.counted, 0)).toBe(40)
    expect(replies.reduce((sum, reply) => sum + reply.body.duplicates, 0)).toBe(120)
  })
})

describe('readings that do not fit', () => {
  it('two of them speak against the one before: the ledger judges all anew, whoever was wrong', async () => {
    const placement = { warehouseId: us.north, fromAt: '2026-01-05T06:00:00Z' }
    const made = await us.manager('POST', 'machines', {
      serialNumber: 'S-9',
      labelCode: 'N-09',
      machineTypeId: us.machineTypeId,
      placement,
    })
    const machineId = made.body.id
    const give = async (day: string, value: number): Promise<Json> =>
      (await us.manager('POST', 'evidence', { kind: 'counter_reading', machineId, at: `2026-04-${day}T08:00:00Z`, value })).body
    const slip = (await give('01', 1000), await give('03', 40_000))
    expect(slip.outcome).toBe('counted')
    const first = await give('05', 3000)
    expect(await stateOf(first.id)).toMatchObject({ state: 'set_aside', setAsideCode: 'RUNS_BACKWARDS' })
    api.planned.length = 0
    const second = await give('07', 4000)
    for (const { id } of [slip, first, second]) expect(await stateOf(id)).toMatchObject({ state: 'counted', setAsideCode: null })
    expect(api.planned).toHaveLength(1)
  })
})

describe('correcting and dismissing', () => {
  it('keeps the wrong one in the books and has its neighbours judged again', async () => {
    const wrong = (await us.manager('POST', 'evidence', reading('2026-04-10T08:00:00Z', 400_000))).body
    expect(wrong.outcome).toBe('counted')
    const right = (await us.manager('POST', 'evidence', reading('2026-04-20T08:00:00Z', 45_000))).body
    expect(right.code).toBe('RUNS_BACKWARDS')
    const corrected = await us.manager('POST', `evidence/${wrong.id}/correction`, {
      replacement: reading('2026-04-10T08:00:00Z', 40_000),
      reason: 'one nought too many',
    })
    expect(corrected.body.outcome).toBe('counted')
    expect(await stateOf(wrong.id)).toMatchObject({ state: 'corrected', amount: 400_000 })
    expect(await stateOf(corrected.body.id)).toMatchObject({ state: 'counted', correctsId: wrong.id })
    expect(await stateOf(right.id)).toMatchObject({ state: 'counted', setAsideCode: null })
    expect(
      (await us.manager('POST', `evidence/${wrong.id}/correction`, { replacement: reading('2026-04-10T08:00:00Z', 1), reason: 'x' }))
        .status,
    ).toBe(409)
    const dismissed = await us.manager('POST', `evidence/${right.id}/dismissal`, { reason: 'misread' })
    expect(dismissed.body).toMatchObject({ state: 'dismissed', amount: 45_000 })
  })
})
