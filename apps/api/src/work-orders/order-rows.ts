/** Rows of work orders and their tasks, as the sheet and the entries need them. */
import type {
  planMeasurementSchema,
  planPartSchema,
  Reach,
  Skill,
  stepSchema,
  Trigger,
  WorkOrderState,
  WorkOrderSummary,
} from '@tapewarden/shared'
import type { z } from 'zod'
import type { Rows } from '../use/rows.js'
import type { Who } from '../http/call.js'

export interface OrderRow extends Record<string, unknown> {
  id: string
  number: number
  state: WorkOrderState
  waitingFor: WorkOrderSummary['waitingFor']
  machineId: string
  labelCode: string
  typeName: string
  machineStatus: WorkOrderSummary['machine']['status']
  warehouseId: string
  warehouseName: string
  zone: string
  stationId: string | null
  stationName: string | null
  line: string | null
  walkingOrder: number | null
  technicianId: string | null
  technicianName: string | null
  technicianDisabled: boolean
  visitId: string | null
  plannedOn: string | null
  lastEntryAt: string | null
  version: number
}

/** $2: the warehouses in reach. */
export const ORDER_SELECT = `SELECT o.id, o.number, o.state, o.waiting_for AS "waitingFor", m.id AS "machineId", m.label_code AS "labelCode", t.name AS "typeName",
    m.status AS "machineStatus", w.id AS "warehouseId", w.name AS "warehouseName", w.zone, s.id AS "stationId", s.name AS "stationName", s.line,
    s.walking_order AS "walkingOrder", o.technician_id AS "technicianId", p.name AS "technicianName", p.disabled_at IS NOT NULL AS "technicianDisabled", o.visit_id AS "visitId", o.planned_on AS "plannedOn",
    o.last_entry_at AS "lastEntryAt", o.version`
export const ORDER_FROM = `FROM work_order o
  JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
  JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
  JOIN warehouse w ON w.organisation_id = o.organisation_id AND w.id = o.warehouse_id
  LEFT JOIN placement pl ON pl.organisation_id = m.organisation_id AND pl.machine_id = m.id AND pl.to_at IS NULL
  LEFT JOIN station s ON s.organisation_id = pl.organisation_id AND s.id = pl.station_id
  LEFT JOIN person p ON p.organisation_id = o.organisation_id AND p.id = o.technician_id
  WHERE o.organisation_id = $1 AND ($2::uuid[] IS NULL OR o.warehouse_id = ANY($2))`

export interface OrderDetailRow extends OrderRow {
  machineTypeId: string
  serialNumber: string
  drive: 'electric' | 'hand'
  supply: 'cord_and_plug' | 'wired_in' | 'none'
  heater: boolean
  mayOpen: 'our_technicians' | 'service_firm_only'
  serviceFirm: string
  serviceTelephone: string
  tape: 'unknown' | 'plain' | 'reinforced'
  machineNote: string
  shortestStripMm: number
  longestStripMm: number
  lengthKeysMm: number[]
  meanStripMm: number | null
  stripToleranceMm: number | null
  brushPlanLimitMm: number | null
  brushNeverBelowMm: number | null
  acknowledgedAt: string | null
  acknowledgedById: string | null
  acknowledgedByName: string | null
  startedAt: string | null
  finishedAt: string | null
  minutesWorked: number | null
  taggedOut: boolean
  functionCheck: Record<string, unknown> | null
  cancelReason: string | null
  note: string
}

const DETAIL = `${ORDER_SELECT}, t.id AS "machineTypeId", m.serial_number AS "serialNumber", t.drive, t.supply, t.heater, m.may_open AS "mayOpen", m.service_firm AS "serviceFirm",
    m.service_telephone AS "serviceTelephone", m.tape, m.note AS "machineNote", t.shortest_strip_mm AS "shortestStripMm", t.longest_strip_mm AS "longestStripMm",
    t.length_keys_mm AS "lengthKeysMm", t.mean_strip_mm AS "meanStripMm", t.strip_tolerance_mm AS "stripToleranceMm", t.brush_plan_limit_mm AS "brushPlanLimitMm",
    t.brush_never_below_mm AS "brushNeverBelowMm", o.cautions_acknowledged_at AS "acknowledgedAt", o.cautions_acknowledged_by AS "acknowledgedById",
    (SELECT a.name FROM person a WHERE a.organisation_id = $1 AND a.id = o.cautions_acknowledged_by) AS "acknowledgedByName", o.started_at AS "startedAt",
    o.finished_at AS "finishedAt", o.minutes_worked AS "minutesWorked", o.tagged_out AS "taggedOut", o.function_check AS "functionCheck",
    o.cancel_reason AS "cancelReason", o.note
  ${ORDER_FROM} AND o.id = $3`

export async function orderOf(
  rows: Rows & { who: Who },
  workOrderId: string,
  lock = false,
  reach = rows.who.warehouseIds,
): Promise<OrderDetailRow> {
  if (lock) await rows.rows(`SELECT id FROM work_order WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [workOrderId])
  return rows.one<OrderDetailRow>('work order', DETAIL, [reach, workOrderId])
}

export interface TaskRow extends Record<string, unknown> {
  id: string
  workOrderId: string
  occurrenceId: string
  occurrenceState: string
  occurrenceKind: string
  serviceTaskId: string
  planTaskId: string
  taskKey: string
  name: string
  componentKey: string | null
  componentTypeId: string | null
  minutes: number
  skill: Skill
  reach: Reach
  safetyCheck: boolean
  atTheBench: boolean
  usesSolvent: boolean
  triggers: Trigger[]
  steps: z.infer<typeof stepSchema>[]
  measurements: z.infer<typeof planMeasurementSchema>[]
  cautions: string[]
  parts: z.infer<typeof planPartSchema>[]
  governing: string
  basis: Record<string, string | number | boolean | null | (string | number)[]>
  dueOn: string
  nominalOn: string
  lateFrom: string | null
  outcome: 'done' | 'not_done' | null
  notDoneReason: string | null
  doneAt: string | null
  answers: Record<string, { answer: string | number | boolean; at: string; by: string }>
}

const TASKS = `SELECT x.id, x.work_order_id AS "workOrderId", x.occurrence_id AS "occurrenceId", o.state AS "occurrenceState", o.kind AS "occurrenceKind",
    o.service_task_id AS "serviceTaskId", pt.id AS "planTaskId", k.key AS "taskKey", pt.name, c.key AS "componentKey", pt.component_type_id AS "componentTypeId", pt.minutes,
    pt.skill, pt.reach, pt.safety_check AS "safetyCheck", pt.at_the_bench AS "atTheBench", pt.uses_solvent AS "usesSolvent", pt.triggers, pt.steps, pt.measurements,
    pt.cautions, pt.parts, o.governing_trigger AS governing, o.basis, o.due_on AS "dueOn", o.nominal_on AS "nominalOn", o.late_from AS "lateFrom", x.outcome,
    x.not_done_reason AS "notDoneReason", x.done_at AS "doneAt", x.answers
  FROM work_order_task x
  JOIN occurrence o ON o.organisation_id = x.organisation_id AND o.id = x.occurrence_id
  JOIN plan_task pt ON pt.organisation_id = x.organisation_id AND pt.id = x.plan_task_id
  JOIN service_task k ON k.organisation_id = x.organisation_id AND k.id = pt.service_task_id
  LEFT JOIN component_type c ON c.organisation_id = x.organisation_id AND c.id = pt.component_type_id
  WHERE x.organisation_id = $1 AND x.work_order_id = ANY($2::uuid[]) ORDER BY x.position, x.id`

export function tasksOf(rows: Rows, workOrderIds: readonly string[]): Promise<TaskRow[]> {
  return rows.rows<TaskRow>(TASKS, [workOrderIds])
}

export interface MeasurementRow extends Record<string, unknown> {
  id: string
  name: string
  valueMm: number
  enteredUnit: 'mm' | 'in'
  enteredText: string
  whenTaken: 'as_found' | 'as_left'
  measuredOn: string
  state: string
  setAsideReason: string | null
  componentId: string | null
}

/** Newest last. */
export function measurementsOf(rows: Rows, workOrderId: string): Promise<MeasurementRow[]> {
  return rows.rows<MeasurementRow>(
    `SELECT id, name, value_mm AS "valueMm", entered_unit AS "enteredUnit", entered_text AS "enteredText", when_taken AS "whenTaken", measured_on AS "measuredOn", state,
       set_aside_reason AS "setAsideReason", component_id AS "componentId"
     FROM measurement WHERE organisation_id = $1 AND work_order_id = $2 AND state <> 'dismissed' ORDER BY created_at, id`,
    [workOrderId],
  )
}

export interface PartUseRow extends Record<string, unknown> {
  id: string
  partId: string
  partName: string
  quantity: number
  componentKey: string | null
}
export function partsUsedOn(rows: Rows, workOrderId: string): Promise<PartUseRow[]> {
  return rows.rows<PartUseRow>(
    `SELECT u.id, u.part_id AS "partId", p.name AS "partName", u.quantity, c.key AS "componentKey" FROM part_use u
     JOIN part p ON p.organisation_id = u.organisation_id AND p.id = u.part_id
     LEFT JOIN component_type c ON c.organisation_id = p.organisation_id AND c.id = p.component_type_id
     WHERE u.organisation_id = $1 AND u.work_order_id = $2 ORDER BY u.used_at, u.id`,
    [workOrderId],
  )
}

export interface FittingPart extends Record<string, unknown> {
  partId: string
  name: string
  componentKey: string | null
  onHand: number
  inBooks: boolean
}
/** Those out of the books among them: what was used before a phone heard of it was used all the same. */
export function partsThatFit(rows: Rows, machineTypeId: string, warehouseId: string): Promise<FittingPart[]> {
  return rows.rows<FittingPart>(
    `SELECT p.id AS "partId", p.name, c.key AS "componentKey", COALESCE(s.on_hand, 0) AS "onHand", p.in_books AS "inBooks" FROM part p
     JOIN part_fit f ON f.organisation_id = p.organisation_id AND f.part_id = p.id AND f.machine_type_id = $2
     LEFT JOIN component_type c ON c.organisation_id = p.organisation_id AND c.id = p.component_type_id
     LEFT JOIN part_stock s ON s.organisation_id = p.organisation_id AND s.part_id = p.id AND s.warehouse_id = $3
     WHERE p.organisation_id = $1 ORDER BY p.name, p.id`,
    [machineTypeId, warehouseId],
  )
}
