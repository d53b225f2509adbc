import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let machineId: string
let made = 0
const NOW = '2026-05-04T08:00:00Z'
const MADE_AT = '2026-05-04T07:30:00Z'

/** An open occurrence as the planning pass writes it: point 10 May 2026, window ± 18 days, as for a 6-month interval. */
async function open(taskKey: string): Promise<string> {
  const id = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-04-22', '2026-05-28', '2026-06-24', '2026-05-10', '2026-05-29', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $5`,
      [us.organisationId, id, machineId, us.north, taskKey],
    ),
  )
  return id
}
async function draft(...taskKeys: string[]): Promise<Json> {
  const occurrenceIds = await Promise.all(taskKeys.map(open))
  const reply = await us.manager('POST', 'work-orders', { machineId, occurrenceIds, technicianId: us.people.technician, issue: true })
  if (reply.status !== 201) throw new Error(JSON.stringify(reply.body))
  return reply.body
}
const enter = (order: Json, entry: object, ask = us.technician) =>
  ask('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: MADE_AT, ...entry })
async function begin(order: Json): Promise<Json> {
  await enter(order, { kind: 'accept' })
  await enter(order, { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug })
  return (await enter(order, { kind: 'start' })).body.workOrder
}
async function measured(order: Json, task: Json, value: number, more: object = {}): Promise<void> {
  await enter(order, { kind: 'answer_step', taskId: task.id, stepKey: 'open', answer: true })
  await enter(order, { kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value, ...more })
}
const SHORT_CHECK = {
  kind: 'function_check',
  tape: 'plain',
  roll: 'half',
  coversOn: true,
  cordLookedAt: true,
  strips: [
    { askedMm: 150, measuredMm: 152 },
    { askedMm: 1150, measuredMm: 1147 },
  ],
}
const finish = (order: Json) => enter(order, { kind: 'finish', minutesWorked: 25 })
const codes = (body: Json) => (body.workOrder ?? body).missing.map((one: Json) => one.code)

beforeAll(async () => {
  api = await startTestApi(NOW)
  us = await makeOrganisation(api, 'north')
})
beforeEach(async () => {
  const reply = await us.manager('POST', 'machines', {
    serialNumber: `W${++made}`,
    labelCode: `W-${made}`,
    machineTypeId: us.machineTypeId,
    placement: { warehouseId: us.north, stationId: us.station, fromAt: '2026-01-05T06:00:00Z' },
    lastDone: [{ taskKey: 'measure_motor_brushes', doneOn: '2025-11-10' }],
  })
  machineId = reply.body.id
})
afterAll(() => api.close())

describe('the sheet of a machine that is wired in', () => {
  it('asks for a statement on its isolator, and takes what a phone with an older page was shown', async () => {
    const order = await draft('measure_motor_brushes')
    expect(order.acknowledgement).toBe(CAUTION_ACKNOWLEDGEMENTS.plug)
    const supply = async (is: string) => us.manager('PATCH', `machine-types/${us.machineTypeId}`, { supply: is })
    try {
      expect((await supply('wired_in')).status).toBe(200)
      const wired = (await us.technician('GET', `work-orders/${order.id}`)).body
      expect(wired.acknowledgement).toBe(CAUTION_ACKNOWLEDGEMENTS.locked)
      expect(wired.functionCheck.instructions[0]).toMatch(/cable/)
      await enter(order, { kind: 'accept' })
      const made = await enter(order, { kind: 'acknowledge_cautions', statement: 'I have read this. The key hangs on its hook.' })
      expect(made.status).toBe(400)
      const older = await enter(order, { kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug })
      expect(older.body.workOrder.acknowledged).not.toBeNull()
    } finally {
      await supply('cord_and_plug')
    }
  })
})

describe('the life of a work order', () => {
  it('from issued to looked over: the record counts from the nominal date, the machine stood still on purpose meanwhile', async () => {
    const order = await draft('measure_motor_brushes')
    expect(order).toMatchObject({ state: 'issued', reach: 'cover_off', technician: { name: 'technician' } })
    expect(order.cautions.map((one: Json) => one.key)).toEqual(
      expect.arrayContaining(['what_comes_first', 'unplug', 'blade', 'heater', 'covers_before_power']),
    )
    const sheet = await begin(order)
    expect(sheet.state).toBe('under_way')
    expect(sheet.functionCheck).toMatchObject({ kind: 'short', toleranceMm: 10 })
    const [task] = sheet.tasks
    expect(task.measurements[0]).toMatchObject({ planLimit: 9.5, neverBelow: 6.4, limitsFrom: 'As stated for this machine type.' })
    await measured(order, task, 0.45, { unit: 'in', enteredText: '0.45' })
    const done = await enter(order, { kind: 'task_done', taskId: task.id })
    // 0.45 in × 25.4 mm = 11.43 mm.
    expect(done.body.workOrder.tasks[0].measurements[0].given[0]).toMatchObject({
      valueMm: expect.closeTo(11.43, 9),
      enteredUnit: 'in',
      enteredText: '0.45',
    })
    expect(codes(done.body)).toEqual(['FUNCTION_CHECK_MISSING'])
    await enter(order, SHORT_CHECK)
    api.planned.length = 0
    expect((await finish(order)).body.workOrder.state).toBe('done')
    expect(api.planned).toEqual([us.north])
    // Done on 4 May, inside the window of the point on 10 May: rule 5 counts from the nominal date, 6 steps on from 10 November.
    const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows(
        `SELECT done_on, anchor_on, anchor_steps, settles FROM service_record WHERE organisation_id = $1 AND machine_id = $2 AND work_order_id = $3`,
        [us.organisationId, machineId, order.id],
      ),
    )
    expect(rows).toEqual([{ done_on: '2026-05-04', anchor_on: '2025-11-10', anchor_steps: 6, settles: true }])
    expect((await us.manager('GET', `occurrences/${task.occurrenceId}`)).body).toMatchObject({
      state: 'done',
      doneOn: '2026-05-04',
      doneByName: 'technician',
    })
    const [stoppage] = (await us.manager('GET', `stoppages?machineId=${machineId}`)).body.items
    expect(stoppage).toMatchObject({ planned: true, cause: 'planned_work', open: false, workOrder: { number: order.number } })
    expect((await us.manager('POST', `work-orders/${order.id}/look-over`, { note: 'seen' })).body.state).toBe('looked_over')
  })

  it('no step before the cautions, none of them got round', async () => {
    const order = await draft('check_chain')
    expect((await enter(order, { kind: 'start' })).body.code).toBe('CAUTIONS_NOT_ACKNOWLEDGED')
    expect((await enter(order, { kind: 'acknowledge_cautions', statement: 'ok' })).status).toBe(400)
    expect((await enter(order, { kind: 'answer_step', taskId: order.tasks[0].id, stepKey: 'check', answer: true })).status).toBe(409)
    const sheet = await begin(order)
    expect((await finish(order)).status).toBe(422)
    expect((await enter(order, { kind: 'task_done', taskId: sheet.tasks[0].id })).body.code).toBe('NOT_READY')
    await enter(order, { kind: 'wait', waitingFor: 'part' })
    const resumed = await enter(order, { kind: 'resume' })
    expect(resumed.body.workOrder.acknowledged).toBeNull()
    expect((await enter(order, { kind: 'answer_step', taskId: sheet.tasks[0].id, stepKey: 'check', answer: true })).body.code).toBe(
      'CAUTIONS_NOT_ACKNOWLEDGED',
    )
  })

  it('inside work needs the full check; out of tolerance blocks done until a roll was changed and it was repeated', async () => {
    const order = await draft('check_chain')
    const [task] = (await begin(order)).tasks
    await enter(order, { kind: 'answer_step', taskId: task.id, stepKey: 'check', answer: true })
    const done = (await enter(order, { kind: 'task_done', taskId: task.id })).body.workOrder
    expect(done.functionCheck.asks).toEqual([
      { askedMm: 150, times: 3, what: 'shortest' },
      { askedMm: 500, times: 3, what: 'most used' },
      { askedMm: 1150, times: 3, what: 'longest' },
    ])
    const strips = (off: number) => [150, 500, 1150].flatMap((askedMm) => [0, 0, 0].map(() => ({ askedMm, measuredMm: askedMm + off })))
    const check = { ...SHORT_CHECK, wetStripTore: true }
    const out = await enter(order, { ...check, strips: strips(11) })
    expect(out.body.workOrder.functionCheck.result).toMatchObject({ withinTolerance: false, attempt: 1 })
    expect(codes(out.body)).toEqual(['OUT_OF_TOLERANCE'])
    expect((await finish(order)).body).toMatchObject({ status: 422, code: 'NOT_READY' })
    const dry = await enter(order, { ...check, strips: strips(4), wetStripTore: null })
    expect(codes(dry.body)).toEqual(['FUNCTION_CHECK_MISSING'])
    await enter(order, { ...check, strips: strips(4) })
    expect((await finish(order)).body.workOrder).toMatchObject({ state: 'done', minutesWorked: 25 })
  })

  it('a value that was mistyped is dismissed for the one typed instead, and asks for nothing', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    await measured(order, task, 1.15)
    const instead = await enter(order, { kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value: 11.5, instead: true })
    expect(instead.body.workOrder.tasks[0].measurements[0].given).toMatchObject([{ valueMm: 11.5, state: 'counted' }])
    const rows = await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows(
        'SELECT value_mm, state, set_aside_reason FROM measurement WHERE organisation_id = $1 AND work_order_id = $2 ORDER BY value_mm',
        [us.organisationId, order.id],
      ),
    )
    expect(rows).toMatchObject([
      {
        value_mm: 1.15,
        state: 'dismissed',
        set_aside_reason: expect.stringMatching(/^Mistyped, says .*, who typed another value instead\.$/),
      },
      { value_mm: 11.5, state: 'counted', set_aside_reason: null },
    ])
    // No follow-up for a worn-out set.
    expect((await enter(order, { kind: 'task_done', taskId: task.id })).body.workOrder.tasks).toHaveLength(1)
  })

  it('a task that could not be done is done after all while the order is under way', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    const again = () => enter(order, { kind: 'task_again', taskId: task.id })
    expect((await again()).body).toMatchObject({ status: 409, code: 'NOT_LEFT_UNDONE', detail: `${task.name} is still to be done.` })
    await enter(order, { kind: 'task_not_done', taskId: task.id, reason: 'no access' })
    expect((await enter(order, { kind: 'task_done', taskId: task.id })).body.code).toBe('TASK_CLOSED')
    expect((await again()).body.workOrder.tasks[0]).toMatchObject({ outcome: null, notDoneReason: null })
    await measured(order, task, 11.5)
    expect((await enter(order, { kind: 'task_done', taskId: task.id })).body.workOrder.tasks[0]).toMatchObject({ outcome: 'done' })
  })

  it('a brush below never-below is replaced now, with part and reason, or the machine is tagged out', async () => {
    const part = (
      await us.manager('POST', 'parts', {
        name: `Brush set ${made}`,
        stockCode: `B-${made}`,
        componentKey: 'motor_brush_set',
        fitsMachineTypeIds: [us.machineTypeId],
      })
    ).body
    await us.manager('PUT', `parts/${part.id}/stock/${us.north}`, { onHand: 1, leadTimeDays: 14 })
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    await measured(order, task, 6.0)
    const sheet = (await enter(order, { kind: 'task_done', taskId: task.id })).body.workOrder
    expect(codes(sheet)).toEqual(expect.arrayContaining(['BELOW_NEVER_BELOW', 'TASK_NOT_ANSWERED']))
    const replacing = sheet.tasks.find((one: Json) => one.taskKey === 'replace_motor_brushes')
    expect(replacing).toMatchObject({ replacesComponent: true, outcome: null })
    const before = (await us.manager('GET', `machines/${machineId}/components`)).body.items.find(
      (one: Json) => one.componentType.key === 'motor_brush_set',
    )
    await enter(order, { kind: 'answer_step', taskId: replacing.id, stepKey: 'replace', answer: true })
    expect((await enter(order, { kind: 'task_done', taskId: replacing.id })).body.code).toBe('REMOVAL_REASON_MISSING')
    const replaced = await enter(order, { kind: 'task_done', taskId: replacing.id, removalReason: 'worn' })
    expect(codes(replaced.body)).toEqual(expect.arrayContaining(['PART_NOT_BOOKED']))
    expect(codes(replaced.body)).not.toContain('BELOW_NEVER_BELOW')
    await enter(order, { kind: 'use_part', partId: part.id, quantity: 1 })
    expect((await enter(order, { kind: 'use_part', partId: part.id, quantity: 1 })).body.code).toBe('NOT_ON_THE_SHELF')
    // Taken by mistake: it lies on the shelf again, and the order waits for one again.
    expect((await enter(order, { kind: 'put_back_part', partId: part.id, quantity: 2 })).body).toMatchObject({ code: 'NOT_TAKEN' })
    const back = await enter(order, { kind: 'put_back_part', partId: part.id, quantity: 1 })
    expect(codes(back.body)).toEqual(expect.arrayContaining(['PART_NOT_BOOKED']))
    expect((await us.manager('GET', `parts/${part.id}`)).body.stock).toMatchObject([{ onHand: 1 }])
    expect((await enter(order, { kind: 'put_back_part', partId: part.id, quantity: 1 })).body.detail).toBe(
      'This order has taken none of this part.',
    )
    await enter(order, { kind: 'use_part', partId: part.id, quantity: 1 })
    await enter(order, SHORT_CHECK)
    expect((await finish(order)).body.workOrder.state).toBe('done')
    const brushes = (await us.manager('GET', `machines/${machineId}/components`)).body.items.filter(
      (one: Json) => one.componentType.key === 'motor_brush_set',
    )
    expect(brushes).toMatchObject([
      { toDate: null, newOn: '2026-05-04', usedStrips: 0 },
      { componentId: before.componentId, toDate: '2026-05-04', removalReason: 'worn', measurements: [{ valueMm: 6 }] },
    ])
    const findings = (await us.manager('GET', `machines/${machineId}/findings`)).body.items
    expect(findings).toMatchObject([{ settledOn: '2026-05-04' }])
    expect((await us.manager('GET', `parts/${part.id}`)).body.stock).toMatchObject([{ onHand: 0 }])
  })

  it('tagged out: the order ends, the machine stays stopped, the finding stays open', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    await measured(order, task, 6.0)
    const sheet = (await enter(order, { kind: 'task_done', taskId: task.id })).body.workOrder
    const replacing = sheet.tasks.find((one: Json) => one.taskKey === 'replace_motor_brushes')
    await enter(order, { kind: 'tag_out', reason: 'brushes below the limit, no set here' })
    await enter(order, { kind: 'task_not_done', taskId: replacing.id, reason: 'no set in stock' })
    expect((await finish(order)).body.workOrder).toMatchObject({ state: 'done', taggedOut: true })
    expect((await us.manager('GET', `machines/${machineId}`)).body).toMatchObject({ status: 'tagged_out', stopped: true })
    expect((await us.manager('GET', `occurrences/${replacing.occurrenceId}`)).body.state).toBe('open')
  })

  it('a return opens a task again only where it is struck out', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    await measured(order, task, 11)
    await enter(order, { kind: 'task_done', taskId: task.id })
    await enter(order, SHORT_CHECK)
    await finish(order)
    const returned = await us.manager('POST', `work-orders/${order.id}/return`, {
      reason: 'measured the wrong edge',
      struckOutTaskIds: [task.id],
    })
    expect(returned.body).toMatchObject({ state: 'returned', acknowledged: null, tasks: [{ outcome: null }] })
    expect((await us.manager('GET', `occurrences/${task.occurrenceId}`)).body.state).toBe('open')
  })

  it('is refused in the wrong state or to the wrong person, and says so', async () => {
    const order = await draft('check_chain')
    expect((await us.manager('POST', `work-orders/${order.id}/look-over`, {})).body.code).toBe('WRONG_STATE')
    expect((await us.instructed('POST', `work-orders/${order.id}/entries`, {})).status).toBe(403)
    const twice = await us.manager('POST', 'work-orders', { machineId, occurrenceIds: [order.tasks[0].occurrenceId] })
    expect(twice).toMatchObject({ status: 409, body: { code: 'ON_ANOTHER_ORDER' } })
    expect((await enter(order, { kind: 'hand_back', reason: 'not trained for this' })).body.workOrder).toMatchObject({
      state: 'returned',
      technician: null,
    })
  })
})

describe('entries', () => {
  it('sent twice, and twice at once, apply once', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    const entry = { id: newId(), madeAt: MADE_AT, kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value: 11 }
    const replies = await Promise.all([1, 2, 3, 4].map(() => us.technician('POST', `work-orders/${order.id}/entries`, entry)))
    expect(replies.map((reply) => reply.status)).toEqual([200, 200, 200, 200])
    expect(replies.filter((reply) => reply.body.already === false)).toHaveLength(1)
    const { body } = await us.technician('GET', `work-orders/${order.id}`)
    expect(body.tasks[0].measurements[0].given).toHaveLength(1)
  })

  it('kept on a phone: each by itself; a second done is evidence, a differing measurement a conflict, a refused one is kept', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    await measured(order, task, 11)
    await enter(order, { kind: 'task_done', taskId: task.id })
    const of = (entry: object) => ({ workOrderId: order.id, entry: { id: newId(), madeAt: MADE_AT, ...entry } })
    const { body } = await us.technician('POST', 'work-entries', {
      entries: [
        of({ kind: 'task_done', taskId: task.id }),
        of({ kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value: 10 }),
        of({ kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value: 11 }),
        of({ kind: 'finish', minutesWorked: 3 }),
        { workOrderId: order.id, entry: { kind: 'nonsense' } },
        of({ kind: 'note', text: 'felt dry' }),
        { workOrderId: newId(), entry: { id: newId(), madeAt: MADE_AT, kind: 'note', text: 'lost' } },
      ],
    })
    expect(body.results.map((one: Json) => one.outcome)).toEqual([
      'kept_as_evidence',
      'conflict',
      'kept_as_evidence',
      'refused',
      'refused',
      'applied',
      'refused',
    ])
    const sheet = (await us.manager('GET', `work-orders/${order.id}`)).body
    expect(sheet.entries.filter((one: Json) => one.outcome === 'refused')).toMatchObject([{ kind: 'finish' }])
    expect(sheet.note).toContain('felt dry')
    expect((await us.manager('GET', 'this-week')).body.waiting.conflicts).toBeGreaterThan(0)
  })

  it('of another type, not in the books or in the future are refused', async () => {
    const order = await draft('measure_motor_brushes')
    const [task] = (await begin(order)).tasks
    const refused = async (entry: object) => (await enter(order, entry)).body.code
    expect(await refused({ kind: 'answer_step', taskId: task.id, stepKey: 'nope', answer: true })).toBe('UNKNOWN_STEP')
    expect(await refused({ kind: 'answer_step', taskId: task.id, stepKey: 'open', answer: 'yes' })).toBe('WRONG_ANSWER')
    expect(await refused({ kind: 'measure', taskId: newId(), measurementKey: 'motor_brush', value: 9 })).toBe('UNKNOWN_TASK')
    expect(await refused({ kind: 'note', text: 'x', madeAt: '2026-05-06T08:00:00Z' })).toBe('IN_THE_FUTURE')
    const other = (await us.manager('POST', 'parts', { name: `Other ${made}`, stockCode: `O-${made}` })).body
    expect(await refused({ kind: 'use_part', partId: other.id, quantity: 1 })).toBe('PART_DOES_NOT_FIT')
  })
})

describe('putting off and skipping', () => {
  it('to an open day up to the hard limit, as the next number; past it only by an administrator with a new limit', async () => {
    const id = await open('check_chain')
    // 5 June 2026 is a Friday, 6 June a Saturday; the hard limit is 24 June.
    expect((await us.manager('POST', `occurrences/${id}/putting-off`, { until: '2026-06-06', reason: 'peak' })).body.code).toBe(
      'NO_OPEN_DAY',
    )
    expect((await us.manager('POST', `occurrences/${id}/putting-off`, { until: '2026-06-26', reason: 'peak' })).body.code).toBe(
      'NEEDS_ADMINISTRATOR',
    )
    const next = await us.manager('POST', `occurrences/${id}/putting-off`, { until: '2026-06-05', reason: 'peak' })
    expect(next.body).toMatchObject({
      sequence: 2,
      kind: 'put_off',
      dueOn: '2026-06-05',
      windowTo: '2026-06-05',
      hardLimitOn: '2026-06-24',
      nominalOn: '2026-05-10',
    })
    expect((await us.manager('GET', `occurrences/${id}`)).body).toMatchObject({
      state: 'superseded',
      endReason: expect.stringContaining('peak'),
    })
    const past = await us.administrator('POST', `occurrences/${next.body.id}/putting-off`, {
      until: '2026-06-26',
      reason: 'peak',
      newHardLimitOn: '2026-07-10',
    })
    expect(past.body).toMatchObject({ sequence: 3, hardLimitOn: '2026-07-10' })
  })
  it('never a safety check', async () => {
    const id = await open('interlock_check')
    expect((await us.administrator('POST', `occurrences/${id}/putting-off`, { until: '2026-05-12', reason: 'x' })).body.code).toBe(
      'SAFETY_CHECK',
    )
    expect((await us.administrator('POST', `occurrences/${id}/skipping`, { reason: 'no time' })).body.code).toBe('SAFETY_CHECK')
  })
})
