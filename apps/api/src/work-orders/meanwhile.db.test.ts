/** A phone without a network, a machine that is really worked on, and a desk that changes things meanwhile. */
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
let order: Json
let task: Json
let typed = Date.parse('2026-05-04T06:00:00Z')

const sql = <Row extends Record<string, unknown>>(text: string, values: string[] = []) =>
  api.database.withOrganisationSql(us.organisationId, (scope) => scope.rows<Row>(text, values))
const enter = (entry: object, ask = us.technician): Promise<{ status: number; body: Json }> =>
  ask('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: new Date((typed += 1000)).toISOString(), ...entry })
const READ = { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug }
const atDesk = async (): Promise<Json> => (await us.manager('GET', `work-orders/${order.id}`)).body
const settled = () =>
  sql<{ settles: boolean; by: string }>(`SELECT settles, person_name AS by FROM service_record WHERE work_order_id = $1`, [order.id])

async function issued(taskKey: string): Promise<void> {
  const occurrenceId = newId()
  await sql(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
       hard_limit_on, due_on, late_from, governing_trigger, created_at)
     SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-04-22', '2026-05-28', '2026-06-24', '2026-05-10', '2026-05-29', 'calendar', now()
     FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $5`,
    [us.organisationId, occurrenceId, machineId, us.north, taskKey],
  )
  const wanted = { machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
  order = (await us.manager('POST', 'work-orders', wanted)).body
  ;[task] = order.tasks
}
async function begun(taskKey = 'measure_motor_brushes'): Promise<void> {
  await issued(taskKey)
  for (const entry of [{ kind: 'accept' }, READ, { kind: 'start' }]) expect((await enter(entry)).body.outcome).toBe('applied')
}
/** All that a phone sends of the brushes when it has its network again. */
const measuring = (): object[] => [
  { kind: 'answer_step', taskId: task.id, stepKey: 'open', answer: true },
  { kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value: 11 },
  { kind: 'task_done', taskId: task.id },
  {
    kind: 'function_check',
    tape: 'plain',
    roll: 'half',
    coversOn: true,
    cordLookedAt: true,
    strips: [
      { askedMm: 150, measuredMm: 152 },
      { askedMm: 1150, measuredMm: 1147 },
    ],
  },
  { kind: 'finish', minutesWorked: 25, note: 'Felt was dry.' },
]
async function send(entries: readonly object[]): Promise<string[]> {
  const outcomes: string[] = []
  for (const entry of entries) {
    const { body } = await enter(entry)
    outcomes.push(body.outcome ?? `${body.code}: ${body.detail}`)
  }
  return outcomes
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
  const person = { name: 'Noor', role: 'technician', email: 'noor@north.example', warehouseIds: [us.north] }
  noor = (await us.administrator('POST', 'people', person)).body.id
})
beforeEach(async () => {
  const placement = { warehouseId: us.north, stationId: us.station, fromAt: '2026-01-05T06:00:00Z' }
  const label = `M-${++made}`
  machineId = (await us.manager('POST', 'machines', { serialNumber: label, labelCode: label, machineTypeId: us.machineTypeId, placement }))
    .body.id
})
afterAll(() => api.close())

describe('an order that the desk gave to somebody else', () => {
  it('takes in what was done at the machine by then, and is finished by it', async () => {
    await begun()
    await us.manager('PATCH', `work-orders/${order.id}`, { technicianId: noor })
    expect(await send(measuring())).toEqual(['applied', 'applied', 'applied', 'applied', 'applied'])
    expect(await settled()).toEqual([{ settles: true, by: 'technician' }])
    expect(await atDesk()).toMatchObject({ state: 'done', technician: { name: 'Noor' }, minutesWorked: 25 })
  })

  it('stays with them where only a part was done; they read the cautions for themselves', async () => {
    await begun()
    await us.manager('PATCH', `work-orders/${order.id}`, { technicianId: noor })
    const late = [...measuring().slice(0, 3), { kind: 'wait', waitingFor: 'part' }, { kind: 'hand_back', reason: 'shift is over' }]
    expect(await send(late)).toEqual(['applied', 'applied', 'applied', 'kept_as_evidence', 'kept_as_evidence'])
    expect(await atDesk()).toMatchObject({ state: 'issued', technician: { name: 'Noor' }, acknowledged: null, waitingFor: null })
    // Whoever left it does not work on it any more.
    expect(await send([{ kind: 'finish', minutesWorked: 5 }])).toEqual([expect.stringContaining('NOT_IN_THIS_STATE')])
  })

  it('takes nothing from somebody who never began it', async () => {
    await issued('measure_motor_brushes')
    await us.manager('PATCH', `work-orders/${order.id}`, { technicianId: noor })
    expect(await send(measuring().slice(0, 1))).toEqual([expect.stringContaining('NOT_IN_THIS_STATE')])
  })

  it('which they are at already, says so of beginning it, and refuses nothing', async () => {
    await issued('measure_motor_brushes')
    await us.manager('PATCH', `work-orders/${order.id}`, { technicianId: us.people.manager })
    for (const entry of [{ kind: 'accept' }, READ, { kind: 'start' }]) expect((await enter(entry, us.manager)).status).toBe(200)
    const outcomes = await send([{ kind: 'accept' }, READ, { kind: 'start' }, ...measuring()])
    expect(outcomes.slice(0, 3)).toEqual(['kept_as_evidence', 'applied', 'kept_as_evidence'])
    expect(new Set(outcomes.slice(3))).toEqual(new Set(['applied']))
    expect((await enter({ kind: 'finish', minutesWorked: 30 }, us.manager)).body).toMatchObject({ outcome: 'kept_as_evidence' })
  })
})

describe('an order that was called off', () => {
  it('lives where it was done all the same: dates move, and somebody looks it over', async () => {
    await begun()
    await us.manager('POST', `work-orders/${order.id}/cancellation`, { reason: 'peak came early' })
    expect((await atDesk()).state).toBe('cancelled')
    expect(await send(measuring())).toEqual(['applied', 'applied', 'applied', 'applied', 'applied'])
    expect(await settled()).toEqual([{ settles: true, by: 'technician' }])
    expect(await atDesk()).toMatchObject({
      state: 'done',
      cancelReason: null,
      note: expect.stringContaining('Called off (peak came early)'),
    })
  })

  it('also where it was begun only after that, without a network', async () => {
    await issued('measure_motor_brushes')
    await us.manager('POST', `work-orders/${order.id}/cancellation`, { reason: 'peak came early' })
    const outcomes = await send([{ kind: 'accept' }, READ, { kind: 'start' }, ...measuring()])
    expect(outcomes.filter((outcome) => outcome !== 'applied')).toEqual(['kept_as_evidence', 'kept_as_evidence', 'kept_as_evidence'])
    expect(await atDesk()).toMatchObject({ state: 'done' })
    expect(await settled()).toHaveLength(1)
  })

  it('and was written anew for somebody else, warns them that it is done', async () => {
    await begun()
    await us.manager('POST', `work-orders/${order.id}/cancellation`, { reason: 'Noor is nearer' })
    const anew = { machineId, occurrenceIds: [task.occurrenceId], technicianId: noor, issue: true }
    const { id } = (await us.manager('POST', 'work-orders', anew)).body
    const hints = async (): Promise<string[]> => (await us.manager('GET', `work-orders/${id}`)).body.hints
    expect(await hints()).toEqual([])
    await send(measuring().slice(0, 3))
    expect(await hints()).toEqual(['Measure both motor brushes: done meanwhile, on another order or a round. Look before you do it again.'])
  })

  it('stays so for somebody who was not at it', async () => {
    await begun()
    await us.manager('POST', `work-orders/${order.id}/cancellation`, { reason: 'peak came early' })
    const { body } = await enter({ kind: 'task_done', taskId: task.id }, us.manager)
    expect(body).toMatchObject({ outcome: 'kept_as_evidence', reason: 'The order was cancelled already.' })
    expect((await atDesk()).state).toBe('cancelled')
  })

  it('still hangs the tag that hangs', async () => {
    await begun()
    await us.manager('POST', `work-orders/${order.id}/cancellation`, { reason: 'peak came early' })
    expect(await send([{ kind: 'tag_out', reason: 'cord is cut' }])).toEqual(['applied'])
    expect((await us.manager('GET', `machines/${machineId}`)).body.status).toBe('tagged_out')
  })
})

describe('a machine that was brought elsewhere', () => {
  it('into a warehouse its technician does not serve: what they did counts, and the desk sees that the order lies wrong', async () => {
    await begun()
    const wrong = async (): Promise<number> => (await us.manager('GET', 'this-week')).body.waiting.ordersOfGone
    expect(await wrong()).toBe(0)
    const moved = await us.manager('POST', `machines/${machineId}/moves`, { warehouseId: us.south, stationId: null })
    expect([moved.status, await wrong()]).toEqual([200, 1])
    expect(await send(measuring())).toEqual(['applied', 'applied', 'applied', 'applied', 'applied'])
    expect([(await atDesk()).state, await wrong()]).toEqual(['done', 0])
    // To read other people's work there is another matter.
    expect((await us.technician('GET', `work-orders/${order.id}`)).status).toBe(404)
  })

  it.each(['on_the_shelf', 'at_the_bench', 'away_for_repair', 'retired'])('%s: what was done counts', async (status) => {
    await begun()
    const { status: code } = await us.manager('POST', `machines/${machineId}/status`, { status, reason: 'x' })
    expect(code).toBe(200)
    await sql(`UPDATE occurrence SET state = 'superseded', ended_on = '2026-05-04', end_reason = 'x' WHERE machine_id = $1`, [machineId])
    expect(await send(measuring())).toEqual(['applied', 'applied', 'applied', 'applied', 'applied'])
    expect(await settled()).toEqual([{ settles: true, by: 'technician' }])
  })
})
