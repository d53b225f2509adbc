import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import { CAUTION_ACKNOWLEDGEMENTS } from '@tapewarden/shared'
import { type Json, startTestApi, type TestApi } from '../../../../tests/support/api.js'
import { type ApiOrganisation, makeOrganisation } from '../../../../tests/support/api-organisation.js'

let api: TestApi
let us: ApiOrganisation
let machineId: string
let order: Json
let task: Json
let occurrenceId: string

const enter = (entry: object): Promise<{ status: number; body: Json }> =>
  us.technician('POST', `work-orders/${order.id}/entries`, { id: newId(), madeAt: '2026-05-04T07:30:00Z', ...entry })
const close = (more: object = {}) => enter({ kind: 'task_done', taskId: task.id, ...more })
const again = () => enter({ kind: 'task_again', taskId: task.id })
const measured = (value: number, more: object = {}) =>
  enter({ kind: 'measure', taskId: task.id, measurementKey: 'motor_brush', value, unit: 'mm', ...more })
const codes = ({ body }: { body: Json }): string[] => body.workOrder.missing.map(({ code }: Json) => code)
const settling = async (): Promise<boolean[]> =>
  (
    await api.database.withOrganisationSql(us.organisationId, (scope) =>
      scope.rows<{ settles: boolean }>(`SELECT settles FROM service_record WHERE organisation_id = $1 AND work_order_id = $2 ORDER BY id`, [
        us.organisationId,
        order.id,
      ]),
    )
  ).map(({ settles }) => settles)

/** An order of one task, under way. */
async function begun(taskKey: string): Promise<void> {
  occurrenceId = newId()
  await api.database.withOrganisationSql(us.organisationId, (scope) =>
    scope.run(
      `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to,
         hard_limit_on, due_on, late_from, governing_trigger, created_at)
       SELECT $1, $2, $3, pt.service_task_id, pt.id, $4, 1, 'regular', 'open', '2026-05-01', '2026-05-10', '2026-05-01', '2026-05-20', '2026-06-20', '2026-05-10', '2026-05-21', 'calendar', now()
       FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id WHERE pt.organisation_id = $1 AND k.key = $5`,
      [us.organisationId, occurrenceId, machineId, us.north, taskKey],
    ),
  )
  const wanted = { machineId, occurrenceIds: [occurrenceId], technicianId: us.people.technician, issue: true }
  order = (await us.manager('POST', 'work-orders', wanted)).body
  await enter({ kind: 'accept' })
  await enter({ kind: 'acknowledge_cautions', statement: CAUTION_ACKNOWLEDGEMENTS.plug })
  ;[task] = (await enter({ kind: 'start' })).body.workOrder.tasks
}

beforeAll(async () => {
  api = await startTestApi('2026-05-04T08:00:00Z')
  us = await makeOrganisation(api, 'north')
})
afterAll(() => api.close())
let made = 0
/** Each on a machine of its own. */
beforeEach(async () => {
  const machine = {
    serialNumber: `A${++made}`,
    labelCode: `A-${made}`,
    machineTypeId: us.machineTypeId,
    placement: { warehouseId: us.north, stationId: us.station, fromAt: '2026-01-05T06:00:00Z' },
  }
  machineId = (await us.manager('POST', 'machines', machine)).body.id
})

describe('a task that was closed by mistake', () => {
  it('is open again, with its answers, while the order is under way; its check is done anew', async () => {
    await begun('measure_motor_brushes')
    await enter({ kind: 'answer_step', taskId: task.id, stepKey: 'open', answer: true })
    await measured(11.5)
    const closed = (await close()).body.workOrder.tasks[0]
    const strips = [150, 1150].map((askedMm) => ({ askedMm, measuredMm: askedMm }))
    await enter({ kind: 'function_check', tape: 'plain', roll: 'half', coversOn: true, cordLookedAt: true, strips })
    expect(await settling()).toEqual([true])
    const open = (await again()).body.workOrder
    expect(open.tasks[0]).toMatchObject({ outcome: null, steps: closed.steps })
    expect([open.functionCheck.result, await settling()]).toEqual([null, [false]])
    expect((await us.manager('GET', `occurrences/${occurrenceId}`)).body).toMatchObject({ state: 'open' })
    expect((await close()).body.workOrder.tasks[0]).toMatchObject({ outcome: 'done' })
    expect(await settling()).toEqual([false, true])
  })

  it('has its mistyped value put right, which stops nothing then', async () => {
    await begun('measure_motor_brushes')
    await enter({ kind: 'answer_step', taskId: task.id, stepKey: 'open', answer: true })
    await measured(1.15)
    expect(codes(await close())).toContain('BELOW_NEVER_BELOW')
    await again()
    await measured(11.5, { instead: true })
    expect(codes(await close())).not.toContain('BELOW_NEVER_BELOW')
  })

  it('stays closed where a part was exchanged with it: the desk strikes it out', async () => {
    await begun('replace_motor_brushes')
    await enter({ kind: 'answer_step', taskId: task.id, stepKey: 'replace', answer: true })
    expect((await close({ removalReason: 'worn' })).body.workOrder.tasks[0]).toMatchObject({ outcome: 'done' })
    expect((await again()).body).toMatchObject({ status: 409, code: 'PART_EXCHANGED' })
    expect(await settling()).toEqual([true])
  })
})
