/** What lies on the shelf is booked by several technicians at once: never more of it than there is. */
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

const ORDERS = 6
const ON_SHELF = 5
let api: TestApi
let us: ApiOrganisation
let orders: string[]
let partId: string

async function openOccurrence(machineId: string): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, due_on, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-04-22', '2026-05-28', '2026-05-10', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = 'replace_motor_brushes'`,
      [us.organisationId, id, machineId, us.north],
    ),
  )
  return id
}

const enter = (order: string, entry: object) =>
  us.technician('POST', `work-orders/${order}/entries`, { id: newId(), madeAt: '2026-05-04T07:30:00Z', ...entry })

async function underWay(machineId: string): Promise<string> {
  const body = { machineId, occurrenceIds: [await openOccurrence(machineId)], technicianId: us.people.technician, issue: true }
  const { id } = (await us.manager('POST', 'work-orders', body)).body
  await enter(id, { kind: 'accept' })
  await enter(id, { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug })
  expect((await enter(id, { kind: 'start' })).status).toBe(200)
  return id
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  const counted = await us.manager('POST', 'machines/counted', {
    machineTypeId: us.machineTypeId,
    warehouseId: us.north,
    count: ORDERS,
    labelPrefix: 'PB-',
  })
  orders = []
  for (const { id } of counted.body.machines) orders.push(await underWay(id))
  const part = { name: 'Brush set', stockCode: 'B-9', componentKey: 'motor_brush_set', fitsMachineTypeIds: [us.machineTypeId] }
  partId = (await us.manager('POST', 'parts', part)).body.id
  await us.manager('PUT', `parts/${partId}/stock/${us.north}`, { onHand: ON_SHELF, leadTimeDays: 14 })
})
afterAll(() => api.close())

describe('bookings at once', () => {
  it('take each piece once, refuse the rest, and the books add up', async () => {
    const replies = await Promise.all(orders.flatMap((order) => [0, 1].map(() => enter(order, { kind: 'use_part', partId, quantity: 1 }))))
    expect(replies.filter(({ status }) => status === 200)).toHaveLength(ON_SHELF)
    const refused = replies.filter(({ status }) => status !== 200)
    expect(refused).toHaveLength(2 * ORDERS - ON_SHELF)
    expect(new Set(refused.map(({ body }: Json) => body.code))).toEqual(new Set(['NOT_ON_THE_SHELF']))
    expect((await us.manager('GET', `parts/${partId}`)).body.stock).toMatchObject([{ onHand: 0, reserved: 0 }])
    const [{ used } = { used: null }] = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ used: number }>('SELECT sum(quantity)::int AS used FROM part_use WHERE organisation_id = $1 AND part_id = $2', [
        us.organisationId,
        partId,
      ]),
    )
    expect(used).toBe(ON_SHELF)
  })

  it('never go below nothing while somebody counts the shelf anew', async () => {
    const stock = `parts/${partId}/stock/${us.north}`
    await us.manager('PUT', stock, { onHand: 3, leadTimeDays: 14 })
    const replies = await Promise.all([
      ...orders.map((order) => enter(order, { kind: 'use_part', partId, quantity: 1 })),
      us.manager('PUT', stock, { onHand: 1, leadTimeDays: 14 }),
    ])
    const { onHand } = (await us.manager('GET', `parts/${partId}`)).body.stock[0]
    expect(onHand).toBeGreaterThanOrEqual(0)
    expect(replies.every(({ status, body }) => status === 200 || body.code === 'NOT_ON_THE_SHELF')).toBe(true)
  })
})

describe('a part that lay there although the books have none', () => {
  const ask = (entry: object = {}) => enter(orders[1]!, { kind: 'use_part', partId, quantity: 1, inHand: true, ...entry })
  const found = async (): Promise<string[]> => (await us.manager('GET', 'findings')).body.items.map(({ text }: Json) => text)
  const onHand = async (): Promise<number> => (await us.manager('GET', `parts/${partId}`)).body.stock[0].onHand

  it('counts as used, never below nothing, and the desk is asked once to count the shelf', async () => {
    await us.manager('PUT', `parts/${partId}/stock/${us.north}`, { onHand: 1, leadTimeDays: 14 })
    expect((await ask()).body.outcome).toBe('applied')
    expect([await onHand(), await found()]).toEqual([0, []])
    const replies = await Promise.all([ask(), ask(), enter(orders[2]!, { kind: 'use_part', partId, quantity: 1 })])
    expect(replies.map(({ body }) => body.code ?? body.outcome)).toEqual(['applied', 'applied', 'NOT_ON_THE_SHELF'])
    const text = 'Brush set: the books had none on the shelf in North, and 1 was taken from it. Count the shelf.'
    expect([await onHand(), await found()]).toEqual([0, [text]])
    expect((await us.manager('GET', 'this-week')).body.waiting.findings).toBe(1)
    // What was put back lies there.
    await enter(orders[1]!, { kind: 'put_back_part', partId, quantity: 1 })
    expect(await onHand()).toBe(1)
    expect((await ask({ quantity: 3 })).body.workOrder.partsUsed.length).toBeGreaterThan(1)
    expect([await onHand(), (await found()).at(-1)]).toEqual([
      0,
      expect.stringContaining('the books had only 1 on the shelf in North, and 3 were taken'),
    ])
  })
})

describe('a part out of the books', () => {
  const listed = async (query: string): Promise<string[]> =>
    (await us.manager('GET', `parts?${query}`)).body.items.map(({ stockCode }: Json) => stockCode)
  const offered = async (): Promise<string[]> =>
    (await us.technician('GET', `work-orders/${orders[0]}`)).body.partsThatFit.map(({ name }: Json) => name)

  it('is neither listed nor offered nor exported, and comes back as it was', async () => {
    expect(await offered()).toEqual(['Brush set'])
    const before = (await us.manager('GET', `parts/${partId}`)).body
    expect((await us.manager('PATCH', `parts/${partId}`, { inBooks: false })).body).toEqual({ ...before, inBooks: false })
    expect([await listed('search=B-9'), await listed('inBooks=false'), await offered()]).toEqual([[], ['B-9'], []])
    const other = { name: 'Brush set, again', stockCode: 'B-9' }
    expect((await us.manager('POST', 'parts', other)).body.detail).toContain('out of the books, which can be put back')
    await us.manager('PATCH', `parts/${partId}`, { inBooks: true })
    expect([await listed('search=B-9'), await listed('inBooks=false'), await offered()]).toEqual([['B-9'], [], ['Brush set']])
  })

  it('was used all the same where a phone had not heard of it yet', async () => {
    await us.manager('PUT', `parts/${partId}/stock/${us.north}`, { onHand: 2, leadTimeDays: 14 })
    await us.manager('PATCH', `parts/${partId}`, { inBooks: false })
    expect((await enter(orders[0]!, { kind: 'use_part', partId, quantity: 1 })).status).toBe(200)
    expect((await us.manager('GET', `parts/${partId}`)).body).toMatchObject({ inBooks: false, stock: [{ onHand: 1 }] })
  })
})
