import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, Routes, WorkOrderSheet } from '@tapewarden/shared'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { leaveOtherVisit, requireVisit, visitsChanged } from './change-order.js'
import { endPlannedStoppage } from './order-stoppage.js'
import { type OrderDetailRow, orderOf, tasksOf } from './order-rows.js'
import { allowedActions } from './readiness.js'
import { sheetOf } from './sheet.js'
import { takeTaskBack } from './take-task-back.js'
import { checkQualified, checkTechnician, requireSomebody } from './technicians.js'

async function nextNumber(changing: Changing): Promise<number> {
  const row = await changing.one<{ number: number }>(
    'number',
    `INSERT INTO work_order_number AS n (organisation_id, last_number) VALUES ($1, 1)
     ON CONFLICT (organisation_id) DO UPDATE SET last_number = n.last_number + 1 RETURNING last_number AS number`,
  )
  return row.number
}

export async function createWorkOrder(changing: Changing, body: RouteBody<Routes['createWorkOrder']>): Promise<WorkOrderSheet> {
  const place = await placeOf(changing, body.machineId, true)
  if (place.warehouseId === null) throw new InvalidError('NOT_PLACED', 'This machine stands in no warehouse.', '/machineId')
  if (body.issue) requireSomebody(body.technicianId)
  await checkTechnician(changing, body.technicianId, place.warehouseId, '/technicianId')
  if (body.visitId !== null) await requireVisit(changing, body.visitId, place.warehouseId)
  const id = body.id ?? newId()
  await changing.run(
    `INSERT INTO work_order (organisation_id, id, number, machine_id, warehouse_id, visit_id, technician_id, state, planned_on, note, created_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
    [
      id,
      await nextNumber(changing),
      body.machineId,
      place.warehouseId,
      body.visitId,
      body.technicianId,
      body.issue ? 'issued' : 'drafted',
      body.plannedOn,
      body.note,
      changing.now,
    ],
  )
  await visitsChanged(changing, [body.visitId])
  await addTasks(changing, id, body.machineId, [...new Set(body.occurrenceIds)])
  await checkQualified(changing, [id], '/technicianId')
  const after = await sheetOf(changing, id)
  changing.note({
    action: body.issue ? 'issue' : 'draft',
    subjectKind: 'work order',
    subjectId: id,
    after: { number: after.number, tasks: after.taskNames },
  })
  return after
}

/** Open occurrences of this machine; drafts that nobody has begun give them up. */
async function addTasks(changing: Changing, workOrderId: string, machineId: string, occurrenceIds: readonly string[]): Promise<void> {
  const taken = await changing.rows<{ number: number }>(
    `SELECT w.number FROM work_order_task t JOIN work_order w ON w.organisation_id = t.organisation_id AND w.id = t.work_order_id
     WHERE t.organisation_id = $1 AND t.occurrence_id = ANY($2::uuid[]) AND w.id <> $3 AND w.state IN ('issued', 'accepted', 'under_way', 'waiting', 'returned')`,
    [occurrenceIds, workOrderId],
  )
  if (taken.length > 0) throw new ConflictError('ON_ANOTHER_ORDER', `One of these is on order ${taken[0]?.number} already.`)
  const drafts = await changing.rows<{ id: string }>(
    `DELETE FROM work_order_task t USING work_order w WHERE t.organisation_id = $1 AND t.occurrence_id = ANY($2::uuid[]) AND w.organisation_id = $1
       AND w.id = t.work_order_id AND w.state = 'drafted' AND w.id <> $3 RETURNING w.id`,
    [occurrenceIds, workOrderId],
  )
  await changing.run(
    `UPDATE work_order w SET state = 'cancelled', cancel_reason = 'Taken into another order.', version = w.version + 1
     WHERE w.organisation_id = $1 AND w.id = ANY($2::uuid[]) AND NOT EXISTS (SELECT 1 FROM work_order_task t WHERE t.organisation_id = $1 AND t.work_order_id = w.id)`,
    [drafts.map((draft) => draft.id)],
  )
  const added = await changing.rows(
    `INSERT INTO work_order_task (organisation_id, id, work_order_id, occurrence_id, plan_task_id, position)
     SELECT $1, r.id, $2, o.id, o.plan_task_id, pt.position FROM jsonb_to_recordset($4::jsonb) AS r(id uuid, occurrence uuid)
     JOIN occurrence o ON o.organisation_id = $1 AND o.id = r.occurrence AND o.machine_id = $3 AND o.state = 'open'
     JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = o.plan_task_id RETURNING id`,
    [workOrderId, machineId, JSON.stringify(occurrenceIds.map((occurrence) => ({ id: newId(), occurrence })))],
  )
  if (added.length !== occurrenceIds.length)
    throw new InvalidError('UNKNOWN_OCCURRENCE', 'One of these is not open on this machine.', '/occurrenceIds')
}

/** Runs an action of the desk on a locked order. */
async function act(
  changing: Changing,
  workOrderId: string,
  action: 'issue' | 'look_over' | 'return' | 'cancel',
  work: (order: OrderDetailRow) => Promise<unknown>,
): Promise<WorkOrderSheet> {
  const order = await orderOf(changing, workOrderId, true)
  if (!allowedActions(order.state, changing.who.role).includes(action))
    throw new ConflictError('WRONG_STATE', `Order ${order.number} is ${order.state.replaceAll('_', ' ')}: this is not possible now.`)
  const after = await work(order)
  changing.note({
    action: action.replaceAll('_', ' '),
    subjectKind: 'work order',
    subjectId: workOrderId,
    before: { state: order.state },
    after,
  })
  return sheetOf(changing, workOrderId)
}

function setState(
  changing: Changing,
  workOrderId: string,
  state: string,
  more = '',
  values: readonly (string | null)[] = [],
): Promise<number> {
  return changing.run(
    `UPDATE work_order SET state = $3, waiting_for = NULL, version = version + 1${more} WHERE organisation_id = $1 AND id = $2`,
    [workOrderId, state, ...values],
  )
}

/** A new technician reads the cautions anew. */
export function issueWorkOrder(
  changing: Changing,
  workOrderId: string,
  body: RouteBody<Routes['issueWorkOrder']>,
): Promise<WorkOrderSheet> {
  return act(changing, workOrderId, 'issue', async (order) => {
    requireSomebody(body.technicianId ?? order.technicianId)
    await checkTechnician(changing, body.technicianId, order.warehouseId, '/technicianId')
    await setState(
      changing,
      workOrderId,
      'issued',
      `, technician_id = COALESCE($4, technician_id), planned_on = COALESCE($5, planned_on), cautions_acknowledged_at = NULL, cautions_acknowledged_by = NULL`,
      [body.technicianId ?? null, body.plannedOn ?? null],
    )
    await checkQualified(changing, [workOrderId], '/technicianId')
    await leaveOtherVisit(changing, workOrderId)
    return { state: 'issued', technicianId: body.technicianId ?? order.technicianId }
  })
}

export function lookOver(changing: Changing, workOrderId: string, note: string): Promise<WorkOrderSheet> {
  return act(changing, workOrderId, 'look_over', async (order) => {
    await setState(changing, workOrderId, 'looked_over', `, note = $4`, [[order.note, note].filter((text) => text !== '').join('\n')])
    return { state: 'looked_over', note }
  })
}

/** Rule 14: a task is open again only if the reviewer strikes it out. */
export function returnOrder(changing: Changing, workOrderId: string, body: RouteBody<Routes['returnWorkOrder']>): Promise<WorkOrderSheet> {
  return act(changing, workOrderId, 'return', async (order) => {
    const tasks = await tasksOf(changing, [workOrderId])
    for (const taskId of body.struckOutTaskIds) {
      if (!tasks.some((task) => task.id === taskId && task.outcome === 'done'))
        throw new InvalidError('UNKNOWN_TASK', 'Only a task of this order that was done can be struck out.', '/struckOutTaskIds')
      await strikeOut(changing, workOrderId, taskId, body.reason)
    }
    await setState(
      changing,
      workOrderId,
      'returned',
      `, note = $4, finished_at = NULL, cautions_acknowledged_at = NULL, cautions_acknowledged_by = NULL`,
      [[order.note, `Returned: ${body.reason}`].filter((text) => text !== '').join('\n')],
    )
    changing.datesMayMove(order.warehouseId)
    return { state: 'returned', reason: body.reason, struckOut: body.struckOutTaskIds }
  })
}

async function strikeOut(changing: Changing, workOrderId: string, taskId: string, reason: string): Promise<void> {
  await takeTaskBack(changing, workOrderId, taskId, `Struck out: ${reason}`)
  await changing.run(
    `UPDATE work_order_task SET outcome = NULL, done_at = NULL, done_by = NULL, answers = '{}' WHERE organisation_id = $1 AND id = $2`,
    [taskId],
  )
}

export function cancelOrder(changing: Changing, workOrderId: string, reason: string): Promise<WorkOrderSheet> {
  return act(changing, workOrderId, 'cancel', async (order) => {
    await setState(changing, workOrderId, 'cancelled', `, cancel_reason = $4`, [reason])
    await endPlannedStoppage(changing, workOrderId, changing.now)
    changing.datesMayMove(order.warehouseId)
    return { state: 'cancelled', reason }
  })
}
