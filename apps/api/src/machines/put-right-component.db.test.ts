/** Days of a part that were typed wrongly are put right, and everything that counts from them follows. */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
})
beforeEach(async () => {
  us = await makeOrganisation(api, `north${Math.random().toString(36).slice(2)}`)
})
afterAll(() => api.close())

const parts = async (machineId = us.machineId): Promise<Json[]> =>
  (await us.manager('GET', `machines/${machineId}/components`)).body.items.filter(
    ({ componentType }: Json) => componentType.key === 'motor_brush_set',
  )
const patch = (placementId: string, body: Json, machineId = us.machineId) =>
  us.manager('PATCH', `machines/${machineId}/component-placements/${placementId}`, body)
/** Two strips a day from the day on which the machine came. */
const use = (machineId: string): Promise<unknown> =>
  api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO ledger_day (organisation_id, warehouse_id, machine_id, day, strips, metres, motor_minutes, strips_total, kind, relative_error)
       SELECT $1, $3, $2, date '2026-01-01' + n, 2, 1, 1, 2 * (n + 1), 'strips', 0 FROM generate_series(0, 120) n`,
      [us.organisationId, machineId, us.north],
    ),
  )

describe('a part in place', () => {
  it('gets the day on which it was new, and what it did since', async () => {
    await use(us.machineId)
    const [set] = await parts()
    expect(set).toMatchObject({ newOn: null, usedStrips: null })
    const { body } = await patch(set!.placementId, { newOn: '2026-02-01', fittedOn: '2026-02-01' })
    // 121 days in all, 32 of them up to the first of February.
    expect(body).toMatchObject({ newOn: '2026-02-01', fromDate: '2026-02-01', usedStrips: 242 - 64 })
    expect(api.planned.at(-1)).toBe(us.north)
  })

  it('cannot be new after it was fitted, fitted in the future, or come out by being put right', async () => {
    const [set] = await parts()
    const refused = async (body: Json): Promise<Json> => (await patch(set!.placementId, body)).body
    expect(await refused({ fittedOn: '2026-03-01', newOn: '2026-03-02' })).toMatchObject({
      code: 'NEW_AFTER_FITTING',
      detail: 'It cannot be new after it was fitted, on 2026-03-01.',
    })
    expect(await refused({ fittedOn: '2026-05-05' })).toMatchObject({ code: 'IN_THE_FUTURE', errors: [{ pointer: '/fittedOn' }] })
    expect(await refused({ reason: 'worn' })).toMatchObject({ code: 'STILL_IN_PLACE' })
    expect((await parts())[0]).toMatchObject({ newOn: null, fromDate: null })
  })
})

describe('a part that was replaced', () => {
  it('gets another day and reason, and never overlaps the one that took its place', async () => {
    const [old] = await parts()
    await us.manager('POST', `machines/${us.machineId}/components/${old!.componentId}/removal`, {
      removedOn: '2026-04-01',
      reason: 'unknown',
    })
    await us.manager('POST', `machines/${us.machineId}/components`, { componentKey: 'motor_brush_set', fittedOn: '2026-04-01' })
    const after = await patch(old!.placementId, { removedOn: '2026-03-20', reason: 'worn' })
    expect(after.body).toMatchObject({ toDate: '2026-03-20', removalReason: 'worn' })
    const late = await patch(old!.placementId, { removedOn: '2026-04-10' })
    expect(late).toMatchObject({ status: 422, body: { code: 'TWO_AT_ONCE', detail: expect.stringContaining('from 2026-04-01 to now') } })
    const early = await patch((await parts()).find(({ toDate }) => toDate === null)!.placementId, { fittedOn: '2026-03-10', newOn: null })
    expect(early.body.code).toBe('TWO_AT_ONCE')
  })

  it('takes what it had done along when an earlier day is put right', async () => {
    await use(us.machineId)
    const [set] = await parts()
    await patch(set!.placementId, { newOn: '2026-01-01', fittedOn: '2026-01-01' })
    await us.manager('POST', `machines/${us.machineId}/components/${set!.componentId}/removal`, {
      removedOn: '2026-03-01',
      reason: 'moved',
    })
    const [there] = await parts(us.farMachineId)
    await us.manager('POST', `machines/${us.farMachineId}/components/${there!.componentId}/removal`, {
      removedOn: '2026-03-01',
      reason: 'worn',
    })
    await us.manager('POST', `machines/${us.farMachineId}/components`, {
      componentKey: 'motor_brush_set',
      componentId: set!.componentId,
      fittedOn: '2026-03-05',
    })
    const moved = async (): Promise<number> =>
      (await parts(us.farMachineId)).find(({ componentId }) => componentId === set!.componentId)!.usedStrips
    // 60 days up to the first of March, less the one on which it was fitted.
    expect(await moved()).toBe(118)
    await patch(set!.placementId, { removedOn: '2026-02-01' })
    expect(await moved()).toBe(62)
    const here = (await parts(us.farMachineId)).find(({ componentId }) => componentId === set!.componentId)!
    const newer = await patch(here.placementId, { newOn: '2026-02-15' }, us.farMachineId)
    expect(newer.body.code).toBe('NEW_AFTER_FITTING')
  })
})
