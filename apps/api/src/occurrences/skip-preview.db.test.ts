import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { runPlanningPass } from '@tapewarden/persistence'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let machineId: string
const TODAY = '2026-05-04'

const pass = () =>
  runPlanningPass(api.database, {
    organisationId: us.organisationId,
    warehouseId: us.north,
    today: TODAY,
    now: new Date(`${TODAY}T08:00:00Z`),
  })
const openOf = async (taskKey: string): Promise<Json> =>
  (await us.manager('GET', `occurrences?machineId=${machineId}&state=open`)).body.items.find((one: Json) => one.taskKey === taskKey)
const preview = (occurrence: Json, ask = us.manager) => ask('POST', `occurrences/${occurrence.id}/skipping-preview`)
const dateOf = async (taskKey: string): Promise<string | null> =>
  (await us.manager('GET', `machines/${machineId}/forecasts`)).body.items.find((one: Json) => one.taskKey === taskKey).likelyOn

beforeAll(async () => {
  api = await startTestApi(`${TODAY}T08:00:00Z`)
  us = await makeOrganisation(api, 'north')
  // Half a year before 6 May 2026: both tasks are due within the lead of a week.
  machineId = (
    await us.manager('POST', 'machines', {
      serialNumber: 'S-skip',
      labelCode: 'SKIP',
      machineTypeId: us.machineTypeId,
      commissionedOn: '2025-01-10',
      placement: { warehouseId: us.north },
      lastDone: [
        { taskKey: 'check_chain', doneOn: '2025-11-06' },
        { taskKey: 'interlock_check', doneOn: '2025-11-06' },
      ],
    })
  ).body.id
  await pass()
})
afterAll(() => api.close())

describe('what leaving out a falling-due leads to', () => {
  it('is said before it is done, keeps nothing, and comes true', async () => {
    const chain = await openOf('check_chain')
    expect(chain.dueOn).toBe('2026-05-06')
    const order = (await us.manager('GET', `work-orders/${chain.workOrder.id}`)).body
    const { status, body } = await preview(chain)
    // Six months on from the point that is left out; Friday before the weekend is not needed: 6 November 2026 is a Friday.
    expect([status, body]).toEqual([
      200,
      { nextDueOn: '2026-11-06', reason: null, workOrders: [{ number: order.number, cancelled: order.tasks.length === 1 }] },
    ])
    expect(await openOf('check_chain')).toEqual(chain)
    expect((await us.manager('GET', `work-orders/${order.id}`)).body).toEqual(order)
    expect((await us.manager('GET', 'audit?limit=200')).body.items.map(({ action }: Json) => action)).not.toContain('skip')
    expect((await us.manager('POST', `occurrences/${chain.id}/skipping`, { reason: 'new chain comes' })).body.state).toBe('skipped')
    await pass()
    expect(await openOf('check_chain')).toBeUndefined()
    expect(await dateOf('check_chain')).toBe(body.nextDueOn)
  })

  it('is refused for a safety check and for what has ended, in the words of the deed itself', async () => {
    const refused = await preview(await openOf('interlock_check'), us.administrator)
    expect(refused).toMatchObject({
      status: 422,
      body: { code: 'SAFETY_CHECK', detail: 'A safety check cannot be skipped; it stays open.' },
    })
    const { items } = (await us.manager('GET', `occurrences?machineId=${machineId}&state=skipped`)).body
    expect((await preview(items[0])).body.code).toBe('NOT_OPEN')
  })
})
