import { InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteQuery, RouteResult, Routes, Visit } from '@tapewarden/shared'
import { issueAnew, visitsChanged } from '../work-orders/change-order.js'
import { ordersOfVisit } from '../work-orders/order-list.js'
import { checkQualified, checkTechnician } from '../work-orders/technicians.js'
import { pageOf, readCursor } from '../use/paging.js'
import { requireVersion } from '../use/patch.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'

type Detail = RouteResult<Routes['getVisit']>
interface VisitRow extends Record<string, unknown> {
  id: string
  warehouseId: string
  warehouseName: string
  technicianId: string | null
  technicianName: string | null
  visitOn: string
  note: string
  workOrderCount: number
  minutesPlanned: number
  version: number
}

const SELECT = `SELECT v.id, w.id AS "warehouseId", w.name AS "warehouseName", p.id AS "technicianId", p.name AS "technicianName", v.visit_on AS "visitOn", v.note, v.version,
    (SELECT count(*)::int FROM work_order o WHERE o.organisation_id = v.organisation_id AND o.visit_id = v.id) AS "workOrderCount",
    COALESCE((SELECT sum(pt.minutes) FROM work_order o JOIN work_order_task x ON x.organisation_id = o.organisation_id AND x.work_order_id = o.id
      JOIN plan_task pt ON pt.organisation_id = x.organisation_id AND pt.id = x.plan_task_id
      WHERE o.organisation_id = v.organisation_id AND o.visit_id = v.id), 0)::float8 AS "minutesPlanned"
  FROM visit v JOIN warehouse w ON w.organisation_id = v.organisation_id AND w.id = v.warehouse_id
  LEFT JOIN person p ON p.organisation_id = v.organisation_id AND p.id = v.technician_id
  WHERE v.organisation_id = $1 AND ($2::uuid[] IS NULL OR v.warehouse_id = ANY($2))`

function visitOf({ warehouseId, warehouseName, technicianId, technicianName, ...row }: VisitRow): Visit {
  return {
    ...row,
    warehouse: { id: warehouseId, name: warehouseName },
    technician: technicianId === null ? null : { id: technicianId, name: technicianName ?? '' },
  }
}

export async function listVisits(reading: Reading, query: RouteQuery<Routes['listVisits']>): Promise<RouteResult<Routes['listVisits']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  const rows = await reading.rows<VisitRow>(
    `${SELECT} AND ($3::uuid IS NULL OR v.warehouse_id = $3) AND ($4::uuid IS NULL OR v.technician_id = $4) AND ($5::date IS NULL OR v.visit_on >= $5)
       AND ($6::date IS NULL OR v.visit_on <= $6) AND ($7::date IS NULL OR (v.visit_on, v.id) > ($7, $8::uuid))
     ORDER BY v.visit_on, v.id LIMIT $9`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.technicianId ?? null,
      query.from ?? null,
      query.to ?? null,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
    ],
  )
  return pageOf(rows, query.limit, (row) => [row.visitOn, row.id], visitOf)
}

export async function getVisit(reading: Reading, visitId: string): Promise<Detail> {
  const row = await reading.one<VisitRow>('visit', `${SELECT} AND v.id = $3`, [reading.who.warehouseIds, visitId])
  return { ...visitOf(row), workOrders: await ordersOfVisit(reading, visitId) }
}

async function putOrders(changing: Changing, visitId: string, warehouseId: string, orderIds: readonly string[]): Promise<void> {
  await changing.run(
    `UPDATE work_order SET visit_id = NULL WHERE organisation_id = $1 AND visit_id = $2 AND NOT id = ANY($3::uuid[]) AND state NOT IN ('done', 'looked_over', 'cancelled')`,
    [visitId, orderIds],
  )
  const handedOver = await changing.rows<{ id: string }>(
    `SELECT o.id FROM work_order o JOIN visit v ON v.organisation_id = $1 AND v.id = $2 AND v.technician_id IS DISTINCT FROM o.technician_id AND v.technician_id IS NOT NULL
     WHERE o.organisation_id = $1 AND o.id = ANY($3::uuid[]) AND o.state IN ('issued', 'accepted', 'under_way', 'waiting')`,
    [visitId, orderIds],
  )
  const others = await changing.rows<{ id: string }>(
    `SELECT DISTINCT visit_id AS id FROM work_order WHERE organisation_id = $1 AND id = ANY($3::uuid[]) AND visit_id <> $2`,
    [visitId, orderIds],
  )
  await visitsChanged(
    changing,
    others.map(({ id }) => id),
  )
  const put = await changing.run(
    `UPDATE work_order o SET visit_id = $2, technician_id = COALESCE(v.technician_id, o.technician_id), planned_on = v.visit_on, version = o.version + 1
     FROM visit v WHERE o.organisation_id = $1 AND o.id = ANY($4::uuid[]) AND o.warehouse_id = $3 AND o.state NOT IN ('done', 'looked_over', 'cancelled')
       AND v.organisation_id = $1 AND v.id = $2`,
    [visitId, warehouseId, orderIds],
  )
  if (put !== new Set(orderIds).size)
    throw new InvalidError('UNKNOWN_WORK_ORDER', 'One of these is no open work order of this warehouse.', '/workOrderIds')
  await checkQualified(changing, orderIds, '/workOrderIds')
  for (const { id } of handedOver) await issueAnew(changing, id)
}

export async function createVisit(changing: Changing, body: RouteBody<Routes['createVisit']>): Promise<Detail> {
  requireWarehouse(changing.who, body.warehouseId)
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [body.warehouseId])
  await checkTechnician(changing, body.technicianId, body.warehouseId, '/technicianId')
  const id = body.id ?? newId()
  await changing.run(
    `INSERT INTO visit (organisation_id, id, warehouse_id, technician_id, visit_on, note) VALUES ($1, $2, $3, $4, $5, $6)`,
    [id, body.warehouseId, body.technicianId, body.visitOn, body.note],
  )
  await putOrders(changing, id, body.warehouseId, body.workOrderIds)
  const after = await getVisit(changing, id)
  changing.note({ action: 'create', subjectKind: 'visit', subjectId: id, after: { ...after, workOrders: body.workOrderIds } })
  return after
}

export async function patchVisit(changing: Changing, visitId: string, body: RouteBody<Routes['patchVisit']>): Promise<Detail> {
  await changing.rows(`SELECT id FROM visit WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [visitId])
  const before = await getVisit(changing, visitId)
  requireVersion(body.version, before.version)
  await checkTechnician(changing, body.technicianId, before.warehouse.id, '/technicianId')
  await changing.run(
    `UPDATE visit SET technician_id = $3, visit_on = $4, note = $5, version = version + 1 WHERE organisation_id = $1 AND id = $2`,
    [
      visitId,
      body.technicianId === undefined ? (before.technician?.id ?? null) : body.technicianId,
      body.visitOn ?? before.visitOn,
      body.note ?? before.note,
    ],
  )
  await putOrders(changing, visitId, before.warehouse.id, body.workOrderIds ?? before.workOrders.filter(isOpen).map((order) => order.id))
  const after = await getVisit(changing, visitId)
  changing.note({
    action: 'change',
    subjectKind: 'visit',
    subjectId: visitId,
    before: { ...before, workOrders: [] },
    after: { ...after, workOrders: [] },
  })
  return after
}

function isOpen({ state }: { state: string }): boolean {
  return state !== 'done' && state !== 'looked_over' && state !== 'cancelled'
}
