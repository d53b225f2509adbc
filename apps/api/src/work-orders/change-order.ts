import { ConflictError, InvalidError } from '@tapewarden/platform'
import type { RouteBody, Routes, WorkOrderSheet } from '@tapewarden/shared'
import { requireVersion } from '../use/patch.js'
import type { Changing } from '../use/work.js'
import { type OrderDetailRow, orderOf } from './order-rows.js'
import { endWaits } from './order-stoppage.js'
import { sheetOf } from './sheet.js'
import { checkQualified, checkTechnician } from './technicians.js'

type Sent = RouteBody<Routes['patchWorkOrder']>
type State = OrderDetailRow['state']

const IN_HAND: readonly State[] = ['issued', 'accepted', 'under_way', 'waiting']
const ENDED: readonly State[] = ['done', 'looked_over', 'cancelled']
const sayState = (state: State): string => state.replaceAll('_', ' ')

export async function requireVisit(changing: Changing, visitId: string, warehouseId: string): Promise<void> {
  const visit = await changing.maybeOne(`SELECT id FROM visit WHERE organisation_id = $1 AND id = $2 AND warehouse_id = $3`, [
    visitId,
    warehouseId,
  ])
  if (!visit) throw new InvalidError('UNKNOWN_VISIT', 'There is no such visit to this warehouse.', '/visitId')
}

/** Whoever has a visit open hears that an order came or went, instead of putting it back where it was. */
export async function visitsChanged(changing: Changing, visitIds: readonly (string | null)[]): Promise<void> {
  const ids = visitIds.filter((id) => id !== null)
  if (ids.length > 0)
    await changing.run(`UPDATE visit SET version = version + 1 WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [ids])
}

/** A visit is one technician's and of one day: an order that is given to another, or moved to another day, leaves it. */
export async function leaveOtherVisit(changing: Changing, workOrderId: string): Promise<void> {
  const left = await changing.rows<{ id: string }>(
    `UPDATE work_order o SET visit_id = NULL FROM visit v WHERE o.organisation_id = $1 AND o.id = $2 AND v.organisation_id = $1 AND v.id = o.visit_id
       AND (v.technician_id <> o.technician_id OR v.visit_on IS DISTINCT FROM o.planned_on) RETURNING v.id`,
    [workOrderId],
  )
  await visitsChanged(
    changing,
    left.map(({ id }) => id),
  )
}

/**
 * Who takes over is told as of a new order, accepts it, and reads the cautions anew. What was answered stays. A machine that was
 * stopped for the work stays stopped: it may stand open.
 */
export async function issueAnew(changing: Changing, workOrderId: string): Promise<void> {
  await endWaits(changing, workOrderId, changing.now)
  await changing.run(
    `UPDATE work_order SET state = 'issued', waiting_for = NULL, cautions_acknowledged_at = NULL, cautions_acknowledged_by = NULL
     WHERE organisation_id = $1 AND id = $2`,
    [workOrderId],
  )
}

/** Who has an order in hand does not lose it to nobody, and what has ended takes no new plan. */
function requireAllowed(order: OrderDetailRow, { technicianId, plannedOn, visitId }: Sent): void {
  const plans = technicianId !== undefined || plannedOn !== undefined || visitId !== undefined
  if (plans && ENDED.includes(order.state))
    throw new ConflictError('WRONG_STATE', `Order ${order.number} is ${sayState(order.state)}: only its note can still be changed.`)
  if (technicianId === null && order.technicianId !== null && IN_HAND.includes(order.state))
    throw new InvalidError(
      'NEEDS_TECHNICIAN',
      `Order ${order.number} is ${sayState(order.state)} and with ${order.technicianName}. Name who takes it over, or cancel the order.`,
      '/technicianId',
    )
}

export async function patchWorkOrder(changing: Changing, workOrderId: string, body: Sent): Promise<WorkOrderSheet> {
  const order = await orderOf(changing, workOrderId, true)
  requireAllowed(order, body)
  requireVersion(body.version, order.version)
  await checkTechnician(changing, body.technicianId, order.warehouseId, '/technicianId')
  if (body.visitId) await requireVisit(changing, body.visitId, order.warehouseId)
  const technicianId = body.technicianId === undefined ? order.technicianId : body.technicianId
  await changing.run(
    `UPDATE work_order SET technician_id = $3, planned_on = $4, visit_id = $5, note = $6, version = version + 1 WHERE organisation_id = $1 AND id = $2`,
    [
      workOrderId,
      technicianId,
      body.plannedOn === undefined ? order.plannedOn : body.plannedOn,
      body.visitId === undefined ? order.visitId : body.visitId,
      body.note ?? order.note,
    ],
  )
  const handedOver = technicianId !== order.technicianId
  if (handedOver && technicianId !== null && order.state !== 'drafted') await issueAnew(changing, workOrderId)
  if (handedOver) await checkQualified(changing, [workOrderId], '/technicianId')
  if (body.visitId === undefined && (handedOver || body.plannedOn !== undefined)) await leaveOtherVisit(changing, workOrderId)
  if (body.visitId !== undefined && body.visitId !== order.visitId) await visitsChanged(changing, [order.visitId, body.visitId])
  const after = await sheetOf(changing, workOrderId)
  changing.note({
    action: 'change',
    subjectKind: 'work order',
    subjectId: workOrderId,
    before: {
      state: order.state,
      technicianId: order.technicianId,
      plannedOn: order.plannedOn,
      visitId: order.visitId,
      note: order.note,
    },
    after: {
      state: after.state,
      technicianId: after.technician?.id ?? null,
      plannedOn: after.plannedOn,
      visitId: after.visitId,
      note: after.note,
    },
  })
  return after
}
