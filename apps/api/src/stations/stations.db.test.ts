import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
const names = async (): Promise<string[]> =>
  (await us.manager('GET', `stations?warehouseId=${us.south}&limit=200`)).body.items.map((one: Json) => `${one.walkingOrder} ${one.name}`)
const add = async (name: string, walkingOrder: number): Promise<Json> =>
  (await us.manager('POST', 'stations', { warehouseId: us.south, name, walkingOrder })).body
const walk = (id: string, to: string, more: object = {}) => us.manager('POST', `stations/${id}/walk`, { to, ...more })

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())

describe('the walk', () => {
  it('changes by one place at a time, keeps gaps, parts those that share a place, and ends at its ends', async () => {
    const first = await add('A', 1)
    const second = await add('B', 5)
    const third = await add('C', 9)
    api.planned.length = 0
    expect((await walk(third.id, 'earlier')).body).toMatchObject({ walkingOrder: 5, version: 2 })
    expect(await names()).toEqual(['1 A', '5 C', '9 B'])
    expect(api.planned).toEqual([us.south])
    await us.manager('PATCH', `stations/${second.id}`, { walkingOrder: 5 })
    await us.manager('PATCH', `stations/${first.id}`, { walkingOrder: 5 })
    const [before] = [await names()]
    const last = (await us.manager('GET', `stations?warehouseId=${us.south}`)).body.items.at(-1)
    await walk(last.id, 'earlier')
    expect(new Set((await names()).map((line) => line.split(' ')[0]))).toEqual(new Set(['5', '6', '7']))
    expect((await names())[1]).toContain(last.name)
    expect(before).toHaveLength(3)
    const [now] = (await us.manager('GET', `stations?warehouseId=${us.south}`)).body.items
    expect(await walk(now.id, 'earlier')).toMatchObject({ status: 409, body: { code: 'END_OF_WALK' } })
    expect((await walk(now.id, 'later', { version: 1 })).body.code).toBe('CHANGED_MEANWHILE')
  })

  it('moved by many at once has each station once, in places of their own', async () => {
    const items = (await us.manager('GET', `stations?warehouseId=${us.south}`)).body.items
    const replies = await Promise.all([0, 1, 2, 0, 1, 2].map((at, turn) => walk(items[at].id, turn % 2 === 0 ? 'earlier' : 'later')))
    for (const { status } of replies) expect([200, 409, 503]).toContain(status)
    const places = (await names()).map((line) => line.split(' ')[0])
    expect(new Set(places).size).toBe(3)
  })
})

describe('a station entered by mistake', () => {
  it('goes, and one with a past stays and says why', async () => {
    const { id } = await add('Mistake', 100)
    expect(await us.manager('DELETE', `stations/${id}`)).toMatchObject({ status: 200, body: { done: true } })
    expect((await us.manager('GET', `stations/${id}`)).status).toBe(404)
    const refused = await us.manager('DELETE', `stations/${us.station}`)
    expect(refused).toMatchObject({ status: 409, body: { code: 'HAS_A_PAST' } })
    expect(refused.body.detail).toContain('A machine stands or once stood at A01')
    expect((await us.manager('GET', `stations/${us.station}`)).status).toBe(200)
  })
})

describe('strips a carton', () => {
  const state = async (id: string): Promise<Json> =>
    (await us.manager('GET', 'evidence?limit=200')).body.items.find((one: Json) => one.id === id)

  it('once said lets the cartons count that were set aside for want of it, and so again when it is put right', async () => {
    const station = (await us.manager('GET', `stations/${us.station}`)).body
    await us.manager('PATCH', `stations/${us.station}`, { stripsPerCarton: null })
    const given = (await us.manager('POST', 'evidence', { kind: 'cartons_day', stationId: us.station, day: '2026-04-02', cartons: 300 }))
      .body
    const setAside = (code: string) =>
      api.database.withOrganisationSql(us.organisationId, (scope) =>
        scope.run(
          `UPDATE evidence SET state = 'set_aside', set_aside_code = $3, set_aside_reason = 'x' WHERE organisation_id = $1 AND id = $2`,
          [us.organisationId, given.id, code],
        ),
      )
    await setAside('NO_STRIPS_PER_CARTON')
    await us.manager('PATCH', `stations/${us.station}`, { line: station.line })
    expect((await state(given.id)).state).toBe('set_aside')
    api.planned.length = 0
    await us.manager('PATCH', `stations/${us.station}`, { stripsPerCarton: 90 })
    expect(await state(given.id)).toMatchObject({ state: 'counted', setAsideCode: null, setAsideReason: null })
    expect(api.planned).toEqual([us.north])
    await setAside('MORE_THAN_IT_CAN_CUT')
    await us.manager('PATCH', `stations/${us.station}`, { stripsPerCarton: 2 })
    expect((await state(given.id)).state).toBe('counted')
    await us.manager('POST', `evidence/${given.id}/dismissal`, { reason: 'typed twice' })
    await us.manager('PATCH', `stations/${us.station}`, { stripsPerCarton: 2.5 })
    expect((await state(given.id)).state).toBe('dismissed')
  })
})
