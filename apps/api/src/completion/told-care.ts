/** Care that was done without an order or a round, told at the desk; and a record that was wrong, taken back. */
import { ConflictError, InvalidError, NotFoundError } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes, Trigger } from '@tapewarden/shared'
import { listServiceRecords } from '../machines/machine-story.js'
import { takeOffDrafts } from '../occurrences/decisions.js'
import { undoAnswer } from '../rounds/answer.js'
import { localDateOf } from '../use/local-day.js'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { replacesComponent } from '../work-orders/limits.js'
import { complete, takeBack } from './complete.js'

interface TaskRow extends Record<string, unknown> {
  planTaskId: string
  name: string
  measured: boolean
  taskKey: string
  componentKey: string | null
  parts: { componentKey: string; quantity: number }[]
  triggers: Trigger[]
  commissionedOn: string | null
  lastOn: string | null
}

/** The task as the newest plan of the machine's type has it. */
const TASK = `SELECT pt.id AS "planTaskId", pt.name, jsonb_array_length(pt.measurements) > 0 AS measured,
    k.key AS "taskKey", c.key AS "componentKey", pt.parts, pt.triggers, m.commissioned_on AS "commissionedOn",
    (SELECT max(r.done_on) FROM service_record r WHERE r.organisation_id = $1 AND r.machine_id = $2 AND r.service_task_id = $3 AND r.settles) AS "lastOn"
  FROM machine m JOIN service_task k ON k.organisation_id = $1 AND k.machine_type_id = m.machine_type_id AND k.id = $3
  JOIN plan_task pt ON pt.organisation_id = $1 AND pt.service_task_id = k.id
  JOIN service_plan s ON s.organisation_id = $1 AND s.id = pt.service_plan_id
  LEFT JOIN component_type c ON c.organisation_id = $1 AND c.id = pt.component_type_id
  WHERE m.organisation_id = $1 AND m.id = $2 ORDER BY s.plan_version DESC LIMIT 1`

/** What the telling settles: the open one, unless it follows from care done later, or is of another month. */
async function openOf(changing: Changing, machineId: string, serviceTaskId: string, doneOn: string): Promise<string | null> {
  const open = await changing.maybeOne<{ id: string; kind: string; month: string; number: number | null }>(
    `SELECT o.id, o.kind, to_char(o.nominal_on, 'YYYY-MM') AS month,
       (SELECT w.number FROM work_order_task t JOIN work_order w ON w.organisation_id = $1 AND w.id = t.work_order_id
         WHERE t.organisation_id = $1 AND t.occurrence_id = o.id AND w.state IN ('under_way', 'waiting') LIMIT 1) AS number
     FROM occurrence o WHERE o.organisation_id = $1 AND o.machine_id = $2 AND o.service_task_id = $3 AND o.state = 'open' FOR UPDATE OF o`,
    [machineId, serviceTaskId],
  )
  if (!open || (open.kind === 'monthly' && open.month !== doneOn.slice(0, 7))) return null
  if (open.number !== null)
    throw new ConflictError('UNDER_WAY', `Somebody is at it: it is on order ${open.number}, which is under way. Finish it there.`)
  return open.id
}

function check(task: TaskRow, doneOn: string, today: string): void {
  if (doneOn > today) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', '/doneOn')
  if (task.commissionedOn !== null && doneOn < task.commissionedOn)
    throw new InvalidError('BEFORE_COMMISSIONING', `The machine was commissioned on ${task.commissionedOn}.`, '/doneOn')
  if (task.measured)
    throw new InvalidError(
      'MEASURED_TASK',
      `${task.name} is measured: write an order for it, so that what was measured is kept and counts.`,
      '/serviceTaskId',
    )
  if (replacesComponent(task))
    throw new InvalidError(
      'REPLACING_TASK',
      `${task.name} puts in another part: write down at that part that it was replaced, with the day and the reason.`,
      '/serviceTaskId',
    )
}

export async function tellCare(
  changing: Changing,
  machineId: string,
  body: RouteBody<Routes['tellCare']>,
): Promise<RouteResult<Routes['tellCare']>> {
  const place = await placeOf(changing, machineId, true)
  const task = await changing.maybeOne<TaskRow>(TASK, [machineId, body.serviceTaskId])
  if (!task) throw new InvalidError('UNKNOWN_TASK', 'The plan of this machine type has no such task.', '/serviceTaskId')
  const { doneOn } = body
  check(task, doneOn, localDateOf(changing.now, place.zone ?? 'UTC'))
  const follows = task.lastOn === null || doneOn > task.lastOn
  const occurrenceId = follows ? await openOf(changing, machineId, body.serviceTaskId, doneOn) : null
  const { recordId } = await complete(changing, {
    machineId,
    machineTypeId: place.machineTypeId,
    serviceTaskId: body.serviceTaskId,
    planTaskId: task.planTaskId,
    occurrenceId,
    workOrderId: null,
    source: 'desk',
    doneAt: new Date(`${doneOn}T12:00:00Z`),
    doneOn,
    doneBy: body.doneBy,
    fittedComponentKey: null,
    measured: [],
  })
  if (body.note !== '')
    await changing.run(`UPDATE service_record SET note = $3 WHERE organisation_id = $1 AND id = $2`, [recordId, body.note])
  if (occurrenceId !== null) await takeOffDrafts(changing, occurrenceId)
  changing.note({ action: 'tell care', subjectKind: 'service record', subjectId: recordId, after: { task: task.name, ...body } })
  changing.datesMayMove(place.warehouseId)
  return recordOf(changing, machineId, recordId)
}

async function recordOf(changing: Changing, machineId: string, recordId: string): Promise<RouteResult<Routes['tellCare']>> {
  const { items } = await listServiceRecords(changing, machineId, { limit: 1 }, recordId)
  const [record] = items
  if (!record) throw new NotFoundError('service record')
  return record
}

/** What it settled is open again. A round's answer goes with all that it answered; an order's task is struck out at the order. */
export async function takeBackCare(changing: Changing, recordId: string, reason: string): Promise<RouteResult<Routes['takeBackCare']>> {
  const found = await changing.one<{ machineId: string; settles: boolean; number: number | null; entryId: string | null }>(
    'service record',
    `SELECT r.machine_id AS "machineId", r.settles, w.number,
       (SELECT e.id FROM work_entry e WHERE e.organisation_id = $1 AND e.content -> 'recordIds' ? $2::text LIMIT 1) AS "entryId"
     FROM service_record r LEFT JOIN work_order w ON w.organisation_id = $1 AND w.id = r.work_order_id WHERE r.organisation_id = $1 AND r.id = $2::uuid`,
    [recordId],
  )
  const place = await placeOf(changing, found.machineId, true)
  if (!found.settles) throw new ConflictError('TAKEN_BACK', 'This counts no more, or never did.')
  if (found.number !== null)
    throw new ConflictError(
      'OF_AN_ORDER',
      `It was done on order ${found.number}: return that order and say there what is to be done again.`,
    )
  const before = await recordOf(changing, found.machineId, recordId)
  if (found.entryId === null) await takeBack(changing, recordId, `Taken back: ${reason}`)
  else await undoAnswer(changing, found.entryId)
  const after = await recordOf(changing, found.machineId, recordId)
  changing.note({ action: 'take care back', subjectKind: 'service record', subjectId: recordId, before, after: { ...after, reason } })
  changing.datesMayMove(place.warehouseId)
  return after
}
