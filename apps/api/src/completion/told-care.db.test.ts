/** Care that was done without an order is told at the desk and settles what it should; what was told wrongly is taken back. */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { ROUND_ACKNOWLEDGEMENT } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let tasks: Map<string, string>

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
})
beforeEach(async () => {
  us = await makeOrganisation(api, `north${Math.random().toString(36).slice(2)}`)
  const rows = await sql<{ key: string; id: string }>('SELECT key, id FROM service_task WHERE organisation_id = $1')
  tasks = new Map(rows.map(({ key, id }) => [key, id]))
})
afterAll(() => api.close())

const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []): Promise<Row[]> =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, [us.organisationId, ...values]))
const tell = (key: string, doneOn: string, more: Json = {}) =>
  us.manager('POST', `machines/${us.machineId}/service-records`, {
    serviceTaskId: tasks.get(key) ?? newId(),
    doneOn,
    doneBy: 'Bolt and Sons',
    ...more,
  })
const back = (id: string) => us.manager('POST', `service-records/${id}/taking-back`, { reason: 'It was another machine.' })

/** As the pass opens it. */
async function open(key: string, kind: string, nominalOn: string): Promise<string> {
  const id = newId()
  await sql(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
       due_on, late_from, governing_trigger, created_at)
     SELECT $1, $2::uuid, $3::uuid, pt.service_task_id, pt.id, $4::uuid, 1, $5, 'open', '2026-05-01', $6::date, $6::date - 9, $6::date + 9, $6::date, $6::date + 10, 'calendar', now()
     FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $7`,
    [id, us.machineId, us.north, kind, nominalOn, key],
  )
  return id
}
const stateOf = async (id: string): Promise<string | undefined> =>
  (await sql<{ state: string }>('SELECT state FROM occurrence WHERE organisation_id = $1 AND id = $2', [id]))[0]?.state

describe('care told at the desk', () => {
  it('is kept under the name of who did it, settles what was open, takes it off its order, and moves dates', async () => {
    const occurrenceId = await open('check_chain', 'regular', '2026-05-10')
    const order = (await us.manager('POST', 'work-orders', { machineId: us.machineId, occurrenceIds: [occurrenceId] })).body
    const told = await tell('check_chain', '2026-05-03', { note: 'Report 4711.' })
    expect(told).toMatchObject({
      status: 201,
      body: { doneOn: '2026-05-03', personName: 'Bolt and Sons', source: 'desk', settles: true, note: 'Report 4711.', occurrenceId },
    })
    expect(await stateOf(occurrenceId)).toBe('done')
    expect((await us.manager('GET', `work-orders/${order.id}`)).body.state).toBe('cancelled')
    expect(api.planned.at(-1)).toBe(us.north)
    // Done within its window: the next point counts from the nominal day.
    const [record] = await sql<{ anchor: string }>('SELECT anchor_on AS anchor FROM service_record WHERE organisation_id = $1')
    expect(record?.anchor).toBe('2026-05-10')
  })

  it('settles a month only by a day of that month', async () => {
    const may = await open('oil_blade_felt', 'monthly', '2026-05-29')
    expect((await tell('oil_blade_felt', '2026-04-28')).status).toBe(201)
    expect(await stateOf(may)).toBe('open')
    expect((await tell('oil_blade_felt', '2026-05-02')).status).toBe(201)
    expect(await stateOf(may)).toBe('done')
  })

  it('that lies before care that is written down already settles nothing', async () => {
    await tell('check_chain', '2026-05-01')
    const next = await open('check_chain', 'regular', '2026-11-01')
    expect((await tell('check_chain', '2026-03-01')).status).toBe(201)
    expect(await stateOf(next)).toBe('open')
  })

  it('is refused in words where it would hide something', async () => {
    const refused = async (key: string, day: string): Promise<Json> => (await tell(key, day)).body
    expect(await refused('measure_motor_brushes', '2026-05-01')).toMatchObject({
      code: 'MEASURED_TASK',
      detail: expect.stringContaining('Measure both motor brushes is measured'),
    })
    expect(await refused('replace_motor_brushes', '2026-05-01')).toMatchObject({ code: 'REPLACING_TASK' })
    expect(await refused('check_chain', '2026-05-05')).toMatchObject({ code: 'IN_THE_FUTURE', errors: [{ pointer: '/doneOn' }] })
    expect(await refused('no_such_task', '2026-05-01')).toMatchObject({ code: 'UNKNOWN_TASK' })
    await us.manager('PATCH', `machines/${us.machineId}`, { commissionedOn: '2026-02-01' })
    expect(await refused('check_chain', '2026-01-31')).toMatchObject({ code: 'BEFORE_COMMISSIONING' })
    const occurrenceId = await open('check_chain', 'regular', '2026-05-10')
    const order = { machineId: us.machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
    const { id, number } = (await us.manager('POST', 'work-orders', order)).body
    await sql(`UPDATE work_order SET state = 'under_way' WHERE organisation_id = $1 AND id = $2 RETURNING id`, [id])
    expect(await refused('check_chain', '2026-05-03')).toMatchObject({
      code: 'UNDER_WAY',
      detail: expect.stringContaining(`order ${number}`),
    })
    expect((await us.technician('POST', `machines/${us.machineId}/service-records`, {})).status).toBe(403)
  })
})

describe('taking it back', () => {
  it('opens again what it had settled, once, and keeps the record', async () => {
    const occurrenceId = await open('check_chain', 'regular', '2026-05-10')
    const { id } = (await tell('check_chain', '2026-05-03')).body
    expect((await back(id)).body).toMatchObject({ settles: false, note: 'Taken back: It was another machine.' })
    expect(await stateOf(occurrenceId)).toBe('open')
    expect((await back(id)).body).toMatchObject({ code: 'TAKEN_BACK' })
    const records = (await us.manager('GET', `machines/${us.machineId}/service-records`)).body.items
    expect(records).toMatchObject([{ id, settles: false }])
  })

  it('takes a round’s answer back with it, and leaves an order’s task to its order', async () => {
    await open('oil_blade_felt', 'monthly', '2026-05-29')
    const answer = { entryId: newId(), machineId: us.machineId, outcome: 'done', madeAt: '2026-05-04T07:30:00Z' }
    const read = { entryId: newId(), warehouseId: us.north, month: '2026-05', statement: ROUND_ACKNOWLEDGEMENT }
    await us.manager('POST', 'rounds/acknowledgements', read)
    const answered = await us.manager('POST', 'rounds/answers', { warehouseId: us.north, month: '2026-05', ...answer })
    expect(answered.status).toBe(200)
    const [record] = (await us.manager('GET', `machines/${us.machineId}/service-records`)).body.items
    expect((await back(record.id)).body).toMatchObject({ settles: false })
    const round = (await us.manager('GET', `rounds?warehouseId=${us.north}`)).body
    expect(round.doneCount).toBe(0)
  })
})
