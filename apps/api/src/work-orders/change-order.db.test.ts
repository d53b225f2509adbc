import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let noor: string
let made = 0
let machineId: string
const NOW = '2026-05-04T08:00:00Z'
const MADE_AT = '2026-05-04T07:30:00Z'

const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))
async function open(taskKey: string): Promise<string> {
  const id = newId()
  await sql(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
       hard_limit_on, due_on, late_from, governing_trigger, created_at)
     SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-04-22', '2026-05-28', '2026-06-24', '2026-05-10', '2026-05-29', 'calendar', now()
     FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $5`,
    [us.organisationId, id, machineId, us.north, taskKey],
  )
  return id
}
const write = async (taskKey: string, more: object = {}) =>
  us.manager('POST', 'work-orders', { machineId, occurrenceIds: [await open(taskKey)], ...more })
async function issued(taskKey = 'check_chain'): Promise<Json> {
  const { status, body } = await write(taskKey, { technicianId: us.people.technician, plannedOn: '2026-05-08', issue: true })
  expect([status, body.state]).toEqual([201, 'issued'])
  return body
}
const patch = (order: Json, body: object) => us.manager('PATCH', `work-orders/${order.id}`, body)
const enter = async (order: Json, entry: object) => {
  const reply = await us.technician('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: MADE_AT, ...entry })
  expect(reply.body).toMatchObject({ outcome: 'applied' })
  return reply.body.workOrder
}
async function begin(order: Json): Promise<Json> {
  await enter(order, { kind: 'accept' })
  await enter(order, { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug })
  return enter(order, { kind: 'start' })
}

beforeAll(async () => {
  api = await startTestApi(NOW)
  us = await makeOrganisation(api, 'north')
  const person = { name: 'Noor', role: 'technician', email: 'noor@north.example', warehouseIds: [us.north] }
  noor = (await us.administrator('POST', 'people', person)).body.id
})
beforeEach(async () => {
  const placement = { warehouseId: us.north, stationId: us.station, fromAt: '2026-01-05T06:00:00Z' }
  const label = `C-${++made}`
  const reply = await us.manager('POST', 'machines', { serialNumber: label, labelCode: label, machineTypeId: us.machineTypeId, placement })
  machineId = reply.body.id
})
afterAll(() => api.close())

describe('an order that is changed', () => {
  it('takes another day and note, and says when somebody was faster', async () => {
    const order = await issued()
    const changed = await patch(order, { plannedOn: '2026-05-11', note: 'Key at the gate.', version: order.version })
    expect(changed.body).toMatchObject({
      state: 'issued',
      plannedOn: '2026-05-11',
      note: 'Key at the gate.',
      technician: { name: 'technician' },
    })
    const late = await patch(order, { note: 'mine', version: order.version })
    expect(late).toMatchObject({ status: 409, body: { code: 'CHANGED_MEANWHILE' } })
    expect(late.body.detail).toMatch(/changed this meanwhile/)
    expect((await us.manager('GET', `work-orders/${order.id}`)).body.note).toBe('Key at the gate.')
  })

  it.each(['issued', 'accepted', 'under_way', 'waiting'])(
    'goes from %s to another, who begins with the cautions; what was answered stays',
    async (state) => {
      const order = await issued()
      if (state === 'accepted') await enter(order, { kind: 'accept' })
      if (state === 'under_way' || state === 'waiting') {
        const { tasks } = await begin(order)
        await enter(order, { kind: 'answer_step', taskId: tasks[0].id, stepKey: 'check', answer: true })
      }
      if (state === 'waiting') await enter(order, { kind: 'wait', waitingFor: 'part' })
      const { body } = await patch(order, { technicianId: noor })
      expect(body).toMatchObject({ state: 'issued', waitingFor: null, acknowledged: null, technician: { name: 'Noor' } })
      expect(body.tasks[0].steps[0].given?.answer).toBe(state === 'under_way' || state === 'waiting' ? true : undefined)
      // A machine that was stopped for the work stays stopped; a wait ends.
      const [stoppage] = (await us.manager('GET', `stoppages?machineId=${machineId}`)).body.items
      expect(stoppage?.open).toBe(state === 'under_way' || state === 'waiting' ? true : undefined)
      expect(stoppage?.waits.every(({ toAt }: Json) => toAt !== null)).toBe(stoppage ? true : undefined)
      const mine = async (ask: typeof us.technician) => (await ask('GET', 'work-orders?mine=true')).body.items.map(({ id }: Json) => id)
      expect(await mine(us.technician)).not.toContain(order.id)
    },
  )

  it('is told of on the first page while it lies with somebody who can no longer sign in', async () => {
    const waiting = async (): Promise<number> => (await us.manager('GET', 'this-week')).body.waiting.ordersOfGone
    const person = { name: 'Ode', role: 'technician', email: 'ode@north.example', warehouseIds: [us.north] }
    const ode = (await us.administrator('POST', 'people', person)).body.id
    const order = await issued()
    await patch(order, { technicianId: ode })
    expect(await waiting()).toBe(0)
    await us.administrator('PATCH', `people/${ode}`, { disabled: true })
    expect(await waiting()).toBe(1)
    expect((await us.manager('GET', `work-orders/${order.id}`)).body.technician).toEqual({ id: ode, name: 'Ode', disabled: true })
    await patch(order, { technicianId: noor })
    expect(await waiting()).toBe(0)
  })

  it('does not lose its technician, nor go to one who does not serve the warehouse', async () => {
    const order = await issued()
    const nobody = await patch(order, { technicianId: null })
    expect(nobody).toMatchObject({ status: 422, body: { code: 'NEEDS_TECHNICIAN' } })
    expect(nobody.body.detail).toContain(`Order ${order.number} is issued and with technician. Name who takes it over`)
    const far = { name: 'Far', role: 'technician', email: `far${made}@north.example`, warehouseIds: [us.south] }
    const farId = (await us.administrator('POST', 'people', far)).body.id
    expect((await patch(order, { technicianId: farId })).body.code).toBe('NOT_THEIR_WAREHOUSE')
    const draft = (await write('measure_motor_brushes', { technicianId: noor })).body
    expect((await patch(draft, { technicianId: null })).body).toMatchObject({ state: 'drafted', technician: null })
  })

  it.each(['cancelled', 'done', 'looked_over'])('%s takes a note and no new plan', async (state) => {
    const order = await issued()
    await sql(`UPDATE work_order SET state = $2 WHERE id = $1`, [order.id, state])
    for (const body of [{ technicianId: noor }, { plannedOn: '2026-05-12' }, { visitId: null }]) {
      const refused = await patch(order, body)
      expect(refused).toMatchObject({ status: 409, body: { code: 'WRONG_STATE' } })
      expect(refused.body.detail).toBe(`Order ${order.number} is ${state.replace('_', ' ')}: only its note can still be changed.`)
    }
    expect((await patch(order, { note: 'Felt was dry.' })).body).toMatchObject({ state, note: 'Felt was dry.' })
  })

  it('given to another, or moved to another day, leaves the visit of one technician and day', async () => {
    const visit = async (order: Json) => {
      const body = { warehouseId: us.north, visitOn: '2026-05-08', technicianId: us.people.technician, workOrderIds: [order.id] }
      return (await us.manager('POST', 'visits', body)).body
    }
    const [first, second] = [await issued(), await issued('measure_motor_brushes')]
    const planned = await visit(first)
    expect((await patch(first, { note: 'x' })).body.visitId).toBe(planned.id)
    expect((await patch(first, { technicianId: noor })).body.visitId).toBeNull()
    await visit(second)
    expect((await patch(second, { plannedOn: '2026-05-11' })).body.visitId).toBeNull()
  })

  it('that comes to a visit or leaves it is no longer put back by who has read that visit before', async () => {
    const day = { warehouseId: us.north, visitOn: '2026-05-08', technicianId: us.people.technician }
    const plan = async (...of: Json[]) => (await us.manager('POST', 'visits', { ...day, workOrderIds: of.map(({ id }) => id) })).body
    const visitOf = async (order: Json) => (await us.manager('GET', `work-orders/${order.id}`)).body.visitId
    const [first, second] = [await issued(), await issued('measure_motor_brushes')]
    const read = await plan(first, second)
    const keep = () => us.manager('PATCH', `visits/${read.id}`, { note: 'x', workOrderIds: [first.id, second.id], version: read.version })
    const taken = await plan(second)
    expect((await keep()).body.code).toBe('CHANGED_MEANWHILE')
    expect(await visitOf(second)).toBe(taken.id)
    const versionOf = async ({ id }: Json) => (await us.manager('GET', `visits/${id}`)).body.version
    const before = await versionOf(taken)
    await patch(second, { plannedOn: '2026-05-11' })
    expect(await versionOf(taken)).toBeGreaterThan(before)
    const then = await versionOf(taken)
    await patch(second, { visitId: taken.id })
    expect(await versionOf(taken)).toBeGreaterThan(then)
  })

  it('is never issued to nobody', async () => {
    expect((await write('check_chain', { issue: true })).body.code).toBe('NO_TECHNICIAN')
    const draft = (await write('measure_motor_brushes')).body
    expect((await us.manager('POST', `work-orders/${draft.id}/issue`, {})).body.code).toBe('NO_TECHNICIAN')
  })
})

describe('an electrical task', () => {
  it('goes to nobody who is not set down as qualified, whether written, issued, handed over or put into a visit', async () => {
    await sql(
      `UPDATE plan_task pt SET skill = 'electrical' FROM service_task k WHERE k.id = pt.service_task_id AND k.key = 'interlock_check'`,
    )
    const refused = (reply: { status: number; body: Json }) => {
      expect(reply).toMatchObject({ status: 422, body: { code: 'NEEDS_QUALIFIED_PERSON' } })
      expect(reply.body.detail).toMatch(
        /‘Interlock and return movement’ on order \d+ is for a qualified electrical person, and Noor is not set down as one/,
      )
    }
    refused(await write('interlock_check', { technicianId: noor }))
    const qualified = {
      name: 'Quin',
      role: 'technician',
      email: 'quin@north.example',
      warehouseIds: [us.north],
      electricallyQualified: true,
    }
    const quin = (await us.administrator('POST', 'people', qualified)).body.id
    const occurrence = (await sql<{ id: string }>(`SELECT id FROM occurrence WHERE machine_id = $1`, [machineId]))[0]!.id
    const order = (await us.manager('POST', 'work-orders', { machineId, occurrenceIds: [occurrence] })).body
    const issue = (technicianId: string) => us.manager('POST', `work-orders/${order.id}/issue`, { technicianId })
    refused(await issue(noor))
    expect((await issue(quin)).body).toMatchObject({ state: 'issued', technician: { name: 'Quin' } })
    refused(await patch(order, { technicianId: noor }))
    const visit = { warehouseId: us.north, visitOn: '2026-05-12', workOrderIds: [order.id] }
    refused(await us.manager('POST', 'visits', { ...visit, technicianId: noor }))
    expect((await us.manager('GET', `work-orders/${order.id}`)).body).toMatchObject({ technician: { name: 'Quin' }, visitId: null })
    expect((await us.manager('POST', 'visits', { ...visit, technicianId: quin })).status).toBe(201)
  })
})

describe('what was typed', () => {
  it('names the part that was booked, also one that was refused', async () => {
    const order = await issued()
    await begin(order)
    const part = (
      await us.manager('POST', 'parts', { name: `Chain oil ${made}`, stockCode: `CO-${made}`, fitsMachineTypeIds: [us.machineTypeId] })
    ).body
    const other = (await us.manager('POST', 'parts', { name: `Other ${made}`, stockCode: `OT-${made}` })).body
    await us.manager('PUT', `parts/${part.id}/stock/${us.north}`, { onHand: 2, leadTimeDays: 14 })
    await enter(order, { kind: 'use_part', partId: part.id, quantity: 2 })
    const entry = { id: newId(), madeAt: MADE_AT, kind: 'use_part', partId: other.id, quantity: 1 }
    await us.technician('POST', 'work-entries', { entries: [{ workOrderId: order.id, entry }] })
    const { entries } = (await us.manager('GET', `work-orders/${order.id}`)).body
    expect(entries.slice(-2)).toMatchObject([
      { kind: 'use_part', partName: part.name, outcome: 'applied' },
      { kind: 'use_part', partName: other.name, outcome: 'refused' },
    ])
    expect(entries[0]).toMatchObject({ kind: 'accept', partName: null })
  })
})
