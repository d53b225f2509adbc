/** The machines of the warehouses one serves, as a phone keeps them: a handful of queries a page, never one a machine. */
import type { Forecast, OnSiteMachine, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { whySentence } from '../occurrences/explain.js'
import { localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { noticesOf } from './machine-detail.js'
import { duesOf, SUMMARY_FIELDS, SUMMARY_FROM, type SummaryRow, summaryOf } from './machine-list.js'

const DATES_EACH = 6
const CARE_EACH = 4

interface Row extends SummaryRow {
  serviceFirm: string
  serviceTelephone: string
  labelToken: string | null
  statusReason: string
}

type Of<Value> = Record<string, unknown> & { machineId: string; items: Value[] }
type DateRow = Pick<Forecast, 'serviceTaskId' | 'taskName' | 'likelyOn' | 'lastDoneOn' | 'governingTrigger'> & Forecast

const STOPPAGES = `SELECT s.machine_id AS "machineId", jsonb_agg(jsonb_build_object('id', s.id, 'failedAt', s.failed_at, 'failureMode', s.failure_mode, 'workOrderId', s.work_order_id) ORDER BY s.failed_at) AS items
  FROM stoppage s WHERE s.organisation_id = $1 AND s.machine_id = ANY($2::uuid[]) AND s.back_in_use_at IS NULL GROUP BY s.machine_id`

const ORDERS = `SELECT o.machine_id AS "machineId", jsonb_agg(jsonb_build_object('id', o.id, 'number', o.number, 'state', o.state, 'technicianName', p.name) ORDER BY o.number) AS items
  FROM work_order o LEFT JOIN person p ON p.organisation_id = o.organisation_id AND p.id = o.technician_id
  WHERE o.organisation_id = $1 AND o.machine_id = ANY($2::uuid[]) AND o.state NOT IN ('looked_over', 'cancelled', 'done') GROUP BY o.machine_id`

const DATES = `SELECT f.machine_id AS "machineId", jsonb_agg(jsonb_build_object('serviceTaskId', f.service_task_id, 'taskName', pt.name, 'state', f.state,
    'earlyOn', f.early_on, 'likelyOn', f.likely_on, 'lateOn', f.late_on, 'noLaterThan', f.no_later_than, 'governingTrigger', f.governing_trigger,
    'basis', f.basis, 'reason', f.reason, 'minutes', pt.minutes, 'safetyCheck', pt.safety_check,
    'lastDoneOn', (SELECT max(r.done_on) FROM service_record r WHERE r.organisation_id = f.organisation_id AND r.machine_id = f.machine_id AND r.service_task_id = f.service_task_id)
  ) ORDER BY f.likely_on, pt.position) AS items
  FROM (SELECT x.*, row_number() OVER (PARTITION BY x.machine_id ORDER BY x.likely_on, x.service_task_id) AS place FROM forecast x
    WHERE x.organisation_id = $1 AND x.machine_id = ANY($2::uuid[]) AND x.likely_on IS NOT NULL) f
  JOIN plan_task pt ON pt.organisation_id = f.organisation_id AND pt.id = f.plan_task_id WHERE f.place <= ${DATES_EACH} GROUP BY f.machine_id`

const CARE = `SELECT m.id AS "machineId", jsonb_agg(jsonb_build_object('id', r.id, 'taskName', r.task_name, 'doneOn', r.done_on, 'personName', r.who) ORDER BY r.done_on DESC, r.id DESC) AS items
  FROM unnest($2::uuid[]) AS m(id)
  JOIN LATERAL (SELECT r.id, r.done_on, COALESCE(NULLIF(r.person_name, ''), p.name, '') AS who, COALESCE(n.name, k.key) AS task_name
    FROM service_record r JOIN service_task k ON k.organisation_id = r.organisation_id AND k.id = r.service_task_id
    LEFT JOIN LATERAL (SELECT pt.name FROM plan_task pt JOIN service_plan s ON s.organisation_id = pt.organisation_id AND s.id = pt.service_plan_id
      WHERE pt.organisation_id = r.organisation_id AND pt.service_task_id = k.id ORDER BY s.plan_version DESC LIMIT 1) n ON true
    LEFT JOIN person p ON p.organisation_id = r.organisation_id AND p.id = r.person_id
    WHERE r.organisation_id = $1 AND r.machine_id = m.id ORDER BY r.done_on DESC, r.id DESC LIMIT ${CARE_EACH}) r ON true GROUP BY m.id`

async function byMachine<Value>(reading: Reading, query: string, ids: readonly string[]): Promise<Map<string, Value[]>> {
  const rows = await reading.rows<Of<Value>>(query, [ids])
  return new Map(rows.map(({ machineId, items }) => [machineId, items]))
}

export async function listOnSiteMachines(
  reading: Reading,
  query: RouteQuery<Routes['listOnSiteMachines']>,
): Promise<RouteResult<Routes['listOnSiteMachines']>> {
  const after = readCursor(query.cursor, ['text', 'id'])
  const rows = await reading.rows<Row>(
    `SELECT ${SUMMARY_FIELDS}, m.service_firm AS "serviceFirm", m.service_telephone AS "serviceTelephone", l.token AS "labelToken",
       COALESCE((SELECT x.reason FROM machine_status_period x WHERE x.organisation_id = m.organisation_id AND x.machine_id = m.id ORDER BY x.from_at DESC, x.id DESC LIMIT 1), '') AS "statusReason"
     ${SUMMARY_FROM} LEFT JOIN machine_label l ON l.organisation_id = m.organisation_id AND l.machine_id = m.id AND l.cancelled_at IS NULL
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2)) AND m.status <> 'retired'
       AND ($3::text IS NULL OR (m.label_code, m.id) > ($3::text, $4::uuid))
     ORDER BY m.label_code, m.id LIMIT $5`,
    [reading.who.warehouseIds, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1],
  )
  const ids = rows.slice(0, query.limit).map(({ id }) => id)
  const dues = await duesOf(reading, rows)
  const stoppages = await byMachine<NonNullable<OnSiteMachine['openStoppage']>>(reading, STOPPAGES, ids)
  const orders = await byMachine<OnSiteMachine['openWorkOrders'][number]>(reading, ORDERS, ids)
  const dates = await byMachine<DateRow>(reading, DATES, ids)
  const care = await byMachine<OnSiteMachine['care'][number]>(reading, CARE, ids)
  return pageOf(
    rows,
    query.limit,
    (row) => [row.labelCode, row.id],
    (row): OnSiteMachine => {
      const { id, labelCode, machineType, status, owner, mayOpen, warehouse, station, doNotUse } = summaryOf(row, dues.get(row.id))
      return {
        id,
        labelCode,
        status,
        owner,
        mayOpen,
        warehouse,
        station,
        machineType: { name: machineType.name, counterKind: machineType.counterKind },
        labelToken: row.labelToken,
        serviceFirm: row.serviceFirm,
        serviceTelephone: row.serviceTelephone,
        today: row.zone === null ? null : localDateOf(reading.now, row.zone),
        notices: noticesOf(row, doNotUse, row.statusReason),
        openStoppage: stoppages.get(id)?.[0] ?? null,
        openWorkOrders: orders.get(id) ?? [],
        dates: (dates.get(id) ?? []).map((date) => ({
          serviceTaskId: date.serviceTaskId,
          taskName: date.taskName,
          likelyOn: date.likelyOn,
          why: whySentence({ ...date, governing: date.governingTrigger }, reading.who),
          lastDoneOn: date.lastDoneOn,
        })),
        care: care.get(id) ?? [],
      }
    },
  )
}
