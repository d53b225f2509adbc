import type { MachineSummary, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'

export interface SummaryRow extends Record<string, unknown> {
  id: string
  labelCode: string
  serialNumber: string
  status: MachineSummary['status']
  statusSince: string
  owner: MachineSummary['owner']
  mayOpen: MachineSummary['mayOpen']
  version: number
  typeId: string
  typeName: string
  drive: 'electric' | 'hand'
  supply: MachineSummary['machineType']['supply']
  heater: boolean
  counterKind: MachineSummary['machineType']['counterKind']
  /** Facts of the type that nobody has said yet. */
  assumed: string[]
  warehouseId: string | null
  warehouseName: string | null
  zone: string | null
  stationId: string | null
  stationName: string | null
  line: string | null
  walkingOrder: number | null
  stopped: boolean
  dueKey: string
  closeness: number
}

/** 'Last of all' for machines at no station and without a date. */
const LAST_ORDER = 2_000_000
const LAST_DAY = '9999-12-31'

export const SUMMARY_FROM = `FROM machine m
  JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
  LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
  LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id`

export const SUMMARY_FIELDS = `m.id, m.label_code AS "labelCode", m.serial_number AS "serialNumber", m.status, m.status_since AS "statusSince", m.owner,
  m.may_open AS "mayOpen", m.version, t.id AS "typeId", t.name AS "typeName", t.drive, t.supply, t.heater, t.counter_kind AS "counterKind", t.assumed,
  w.id AS "warehouseId", w.name AS "warehouseName", w.zone, s.id AS "stationId", s.name AS "stationName", s.line, s.walking_order AS "walkingOrder",
  EXISTS (SELECT 1 FROM stoppage x WHERE x.organisation_id = m.organisation_id AND x.machine_id = m.id AND x.back_in_use_at IS NULL) AS stopped`

/** The date that a list sorts by: an open occurrence's day, else the earliest likely day. */
const DUE_KEY = `LEAST(
  (SELECT min(o.due_on) FROM occurrence o WHERE o.organisation_id = m.organisation_id AND o.machine_id = m.id AND o.state = 'open'),
  (SELECT min(f.likely_on) FROM forecast f WHERE f.organisation_id = m.organisation_id AND f.machine_id = m.id),
  DATE '${LAST_DAY}')`

/** $8 is what is searched for between two per cent signs. */
const CLOSENESS = `CASE WHEN m.label_code ILIKE substr($8, 2, length($8) - 2) OR m.serial_number ILIKE substr($8, 2, length($8) - 2) THEN 0
  WHEN m.label_code ILIKE substr($8, 2) OR m.serial_number ILIKE substr($8, 2) THEN 1 ELSE 2 END`

const ORDERS = {
  label: { keys: 'm.label_code, m.id', kinds: ['text', 'id'], after: '(m.label_code, m.id) > ($9::text, $10::uuid) AND $11::text IS NULL' },
  walking: {
    keys: `COALESCE(w.name, ''), COALESCE(s.walking_order, ${LAST_ORDER}), m.id`,
    kinds: ['text', 'number', 'id'],
    after: `(COALESCE(w.name, ''), COALESCE(s.walking_order, ${LAST_ORDER}), m.id) > ($9::text, $10::int, $11::uuid)`,
  },
  closest: {
    keys: `${CLOSENESS}, m.label_code, m.id`,
    kinds: ['number', 'text', 'id'],
    after: `(${CLOSENESS}, m.label_code, m.id) > ($9::int, $10::text, $11::uuid)`,
  },
  due: { keys: `${DUE_KEY}, m.id`, kinds: ['text', 'id'], after: `(${DUE_KEY}, m.id) > ($9::date, $10::uuid) AND $11::text IS NULL` },
} as const

const EXTRA = { label: '', walking: '', due: `, ${DUE_KEY}::text AS "dueKey"`, closest: `, ${CLOSENESS} AS closeness` } as const

function lastOf(order: keyof typeof ORDERS, row: SummaryRow): (string | number)[] {
  if (order === 'label') return [row.labelCode, row.id]
  if (order === 'closest') return [row.closeness, row.labelCode, row.id]
  return order === 'due' ? [row.dueKey, row.id] : [row.warehouseName ?? '', row.walkingOrder ?? LAST_ORDER, row.id]
}

export async function listMachines(
  reading: Reading,
  query: RouteQuery<Routes['listMachines']>,
): Promise<RouteResult<Routes['listMachines']>> {
  const order = ORDERS[query.order]
  const after = readCursor(query.cursor, order.kinds)
  const rows = await reading.rows<SummaryRow>(
    `SELECT ${SUMMARY_FIELDS}${EXTRA[query.order]} ${SUMMARY_FROM}
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2))
       AND ($3::uuid IS NULL OR p.warehouse_id = $3) AND ($4::uuid IS NULL OR p.station_id = $4) AND ($5::text IS NULL OR s.line = $5)
       AND ($6::uuid IS NULL OR m.machine_type_id = $6) AND ($7::text[] IS NULL OR m.status = ANY($7))
       AND ($8::text IS NULL OR m.label_code ILIKE $8 OR m.serial_number ILIKE $8)
       ${after ? `AND ${order.after}` : `AND $9::text IS NULL AND $10::text IS NULL AND $11::text IS NULL`}
     ORDER BY ${order.keys} LIMIT $12`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.stationId ?? null,
      query.line ?? null,
      query.machineTypeId ?? null,
      query.status ?? null,
      query.search === undefined ? null : `%${query.search.replace(/[\\%_]/g, '\\$&')}%`,
      after?.[0] ?? null,
      after?.[1] ?? null,
      after?.[2] ?? null,
      query.limit + 1,
    ],
  )
  const dues = await duesOf(reading, rows)
  return pageOf(
    rows,
    query.limit,
    (row) => lastOf(query.order, row),
    (row) => summaryOf(row, dues.get(row.id)),
  )
}

export async function summariesOf(reading: Reading, machineIds: readonly string[]): Promise<MachineSummary[]> {
  const rows = await reading.rows<SummaryRow>(
    `SELECT ${SUMMARY_FIELDS} ${SUMMARY_FROM} WHERE m.organisation_id = $1 AND m.id = ANY($2::uuid[]) ORDER BY m.label_code, m.id`,
    [machineIds],
  )
  const dues = await duesOf(reading, rows)
  return rows.map((row) => summaryOf(row, dues.get(row.id)))
}

interface Due {
  next: MachineSummary['next']
  open: number
  late: number
  doNotUse: boolean
}
interface DueRow extends Record<string, unknown> {
  machineId: string
  next: NonNullable<MachineSummary['next']> | null
  open: number
  late: number
  doNotUse: boolean
}

const DUES = `SELECT x.id AS "machineId", n.next, COALESCE(o.open, 0) AS open, COALESCE(o.late, 0) AS late, COALESCE(o.dnu, false) AS "doNotUse"
  FROM jsonb_to_recordset($2::jsonb) AS x(id uuid, today date)
  LEFT JOIN LATERAL (SELECT count(*)::int AS open, count(*) FILTER (WHERE oc.late_from <= x.today)::int AS late,
      COALESCE(bool_or(pt.safety_check AND oc.kind <> 'monthly' AND oc.nominal_on < x.today), false) AS dnu
    FROM occurrence oc JOIN plan_task pt ON pt.organisation_id = oc.organisation_id AND pt.id = oc.plan_task_id
    WHERE oc.organisation_id = $1 AND oc.machine_id = x.id AND oc.state = 'open') o ON true
  LEFT JOIN LATERAL (SELECT jsonb_build_object('serviceTaskId', f.service_task_id, 'taskName', pt.name, 'earlyOn', f.early_on, 'likelyOn', f.likely_on,
      'lateOn', f.late_on, 'dueOn', oc.due_on) AS next
    FROM forecast f JOIN plan_task pt ON pt.organisation_id = f.organisation_id AND pt.id = f.plan_task_id
    LEFT JOIN occurrence oc ON oc.organisation_id = f.organisation_id AND oc.machine_id = f.machine_id AND oc.service_task_id = f.service_task_id AND oc.state = 'open'
    WHERE f.organisation_id = $1 AND f.machine_id = x.id AND COALESCE(oc.due_on, f.likely_on) IS NOT NULL
    ORDER BY COALESCE(oc.due_on, f.likely_on), f.service_task_id LIMIT 1) n ON true`

/** One query for the whole page. */
export async function duesOf(reading: Reading, rows: readonly SummaryRow[]): Promise<Map<string, Due>> {
  const asked = rows.map((row) => ({ id: row.id, today: localDateOf(reading.now, row.zone ?? 'UTC') }))
  const found = await reading.rows<DueRow>(DUES, [JSON.stringify(asked)])
  return new Map(found.map((row) => [row.machineId, row]))
}

export function summaryOf(row: SummaryRow, due: Due | undefined): MachineSummary {
  return {
    id: row.id,
    labelCode: row.labelCode,
    serialNumber: row.serialNumber,
    machineType: {
      id: row.typeId,
      name: row.typeName,
      drive: row.drive,
      supply: row.supply,
      heater: row.heater,
      counterKind: row.counterKind,
    },
    status: row.status,
    statusSince: row.statusSince,
    owner: row.owner,
    mayOpen: row.mayOpen,
    warehouse: row.warehouseId === null ? null : { id: row.warehouseId, name: row.warehouseName ?? '' },
    station:
      row.stationId === null
        ? null
        : { id: row.stationId, name: row.stationName ?? '', line: row.line ?? '', walkingOrder: row.walkingOrder ?? 0 },
    next: due?.next ?? null,
    openOccurrences: due?.open ?? 0,
    lateOccurrences: due?.late ?? 0,
    doNotUse: due?.doNotUse ?? false,
    stopped: row.stopped,
    version: row.version,
  }
}
