import { planningMath, previewChange } from '@tapewarden/persistence'
import type { ClosurePreview, RouteBody, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { largestFirst, middleOf, MOST_PREVIEWED, movesOf, type Standing } from '../use/moved-dates.js'
import type { Changing } from '../use/work.js'
import { addClosure } from './warehouse-changes.js'
import { getWarehouse } from './warehouse-reads.js'

const MOST_SHOWN = 400

type Days = RouteBody<Routes['addClosure']>

function machinesThere(changing: Changing, warehouseId: string): Promise<Standing[]> {
  return changing.rows<Standing>(
    `SELECT m.id AS "machineId", m.label_code AS "labelCode", w.name AS "warehouseName"
     FROM placement p JOIN machine m ON m.organisation_id = p.organisation_id AND m.id = p.machine_id
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     WHERE p.organisation_id = $1 AND p.warehouse_id = $2 AND p.to_at IS NULL AND m.status <> 'retired' ORDER BY m.id LIMIT $3`,
    [warehouseId, MOST_PREVIEWED],
  )
}

interface DueRow extends Record<string, unknown> {
  occurrenceId: string
  machineId: string
  labelCode: string
  taskName: string
  dueOn: string
  total: number
}

/** The day of what has opened is fixed: it stays within the closed days. */
async function openWithin(
  changing: Changing,
  warehouseId: string,
  { fromDate, toDate }: Days,
): Promise<Pick<ClosurePreview, 'openDueCount' | 'openDues'>> {
  const rows = await changing.rows<DueRow>(
    `SELECT o.id AS "occurrenceId", o.machine_id AS "machineId", m.label_code AS "labelCode", pt.name AS "taskName", o.due_on AS "dueOn",
       (count(*) OVER ())::int AS total
     FROM occurrence o JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
     JOIN plan_task pt ON pt.organisation_id = o.organisation_id AND pt.id = o.plan_task_id
     WHERE o.organisation_id = $1 AND o.warehouse_id = $2 AND o.state = 'open' AND o.due_on BETWEEN $3 AND $4
     ORDER BY o.due_on, m.label_code, pt.name LIMIT $5`,
    [warehouseId, fromDate, toDate, MOST_SHOWN],
  )
  return { openDueCount: rows[0]?.total ?? 0, openDues: rows.map(({ total: _total, ...due }) => due) }
}

/** What somebody planned for one of these days by hand stays there until somebody moves it. */
async function plannedWithin(
  changing: Changing,
  warehouseId: string,
  { fromDate, toDate }: Days,
): Promise<Pick<ClosurePreview, 'visits' | 'workOrders'>> {
  const within = [warehouseId, fromDate, toDate]
  const visits = await changing.rows<ClosurePreview['visits'][number]>(
    `SELECT v.id, v.visit_on AS "visitOn", p.name AS "technicianName" FROM visit v
     LEFT JOIN person p ON p.organisation_id = v.organisation_id AND p.id = v.technician_id
     WHERE v.organisation_id = $1 AND v.warehouse_id = $2 AND v.visit_on BETWEEN $3 AND $4 ORDER BY v.visit_on, v.id`,
    within,
  )
  const workOrders = await changing.rows<ClosurePreview['workOrders'][number]>(
    `SELECT id, number, planned_on AS "plannedOn" FROM work_order
     WHERE organisation_id = $1 AND warehouse_id = $2 AND planned_on BETWEEN $3 AND $4 AND visit_id IS NULL
       AND state NOT IN ('done', 'looked_over', 'cancelled') ORDER BY planned_on, number`,
    within,
  )
  return { visits, workOrders }
}

/** Adds the closed days and has the planner compute the warehouse before and after it; the caller takes all of it back. */
export async function previewClosure(changing: Changing, warehouseId: string, body: Days): Promise<ClosurePreview> {
  const { zone, machineCount } = await getWarehouse(changing, warehouseId)
  const machines = await machinesThere(changing, warehouseId)
  const question = { warehouseId, today: localDateOf(changing.now, zone), machineIds: machines.map(({ machineId }) => machineId) }
  const open = await openWithin(changing, warehouseId, body)
  const { before, after } = await previewChange(changing.scope, planningMath, [question], () => addClosure(changing, warehouseId, body))
  const moves = movesOf(machines, before, after)
  const days = moves.flatMap((move) => (move.days ? [move.days] : []))
  return {
    machineCount,
    machinesComputed: machines.length,
    earlierCount: days.filter((count) => count < 0).length,
    laterCount: days.filter((count) => count > 0).length,
    medianDays: middleOf(days),
    ...largestFirst(moves),
    ...open,
    ...(await plannedWithin(changing, warehouseId, body)),
  }
}
