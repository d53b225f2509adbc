import { sayDate } from '@tapewarden/scheduling'
import type { PartNeed, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { addDays, localDateOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'

interface NeedRow extends Record<string, unknown> {
  warehouseId: string
  warehouseName: string
  zone: string
  machineId: string
  machineTypeId: string
  labelCode: string
  taskName: string
  neededOn: string
  componentKey: string
  quantity: number
}
interface FitRow extends Record<string, unknown> {
  partId: string
  name: string
  componentKey: string
  machineTypeId: string
}
interface StockRow extends Record<string, unknown> {
  partId: string
  warehouseId: string
  onHand: number
  onOrder: number
  leadTimeDays: number
}

/** Parts of the tasks that are open or likely to fall due; a look that may or may not take a part asks for none. */
const NEEDS = `SELECT w.id AS "warehouseId", w.name AS "warehouseName", w.zone, m.id AS "machineId", m.machine_type_id AS "machineTypeId", m.label_code AS "labelCode",
    pt.name AS "taskName", LEAST(COALESCE(o.due_on, f.likely_on), f.no_later_than) AS "neededOn", r."componentKey", r.quantity
  FROM forecast f
  JOIN plan_task pt ON pt.organisation_id = f.organisation_id AND pt.id = f.plan_task_id
  JOIN machine m ON m.organisation_id = f.organisation_id AND m.id = f.machine_id
  JOIN warehouse w ON w.organisation_id = f.organisation_id AND w.id = f.warehouse_id
  LEFT JOIN occurrence o ON o.organisation_id = f.organisation_id AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id AND o.state = 'open'
  CROSS JOIN LATERAL jsonb_to_recordset(pt.parts) AS r("componentKey" text, quantity int)
  WHERE f.organisation_id = $1 AND ($2::uuid[] IS NULL OR f.warehouse_id = ANY($2)) AND ($3::uuid IS NULL OR f.warehouse_id = $3)
    AND LEAST(COALESCE(o.due_on, f.likely_on), f.no_later_than) <= $4 AND m.status = 'in_service'
    AND NOT pt.triggers @> '[{"kind":"calendar"}]' AND NOT pt.triggers @> '[{"kind":"calendar_month"}]'
  ORDER BY "neededOn", m.label_code`

/** A need is met by the first part, by name, that fits the machine's type. */
export async function partNeeds(reading: Reading, query: RouteQuery<Routes['partNeeds']>): Promise<RouteResult<Routes['partNeeds']>> {
  const horizon = addDays(localDateOf(reading.now, 'UTC'), query.days)
  const needs = await reading.rows<NeedRow>(NEEDS, [reading.who.warehouseIds, query.warehouseId ?? null, horizon])
  const fits = await reading.rows<FitRow>(
    `SELECT p.id AS "partId", p.name, c.key AS "componentKey", f.machine_type_id AS "machineTypeId" FROM part p
     JOIN part_fit f ON f.organisation_id = p.organisation_id AND f.part_id = p.id
     JOIN component_type c ON c.organisation_id = p.organisation_id AND c.id = p.component_type_id WHERE p.organisation_id = $1 ORDER BY p.name, p.id`,
  )
  const stock = await reading.rows<StockRow>(
    `SELECT part_id AS "partId", warehouse_id AS "warehouseId", on_hand AS "onHand", on_order AS "onOrder", lead_time_days AS "leadTimeDays" FROM part_stock WHERE organisation_id = $1`,
  )
  const groups = new Map<string, { part: FitRow | undefined; rows: NeedRow[] }>()
  for (const need of needs) {
    const part = fits.find((fit) => fit.componentKey === need.componentKey && fit.machineTypeId === need.machineTypeId)
    const key = `${need.warehouseId} ${part?.partId ?? need.componentKey}`
    const group = groups.get(key) ?? { part, rows: [] }
    group.rows.push(need)
    groups.set(key, group)
  }
  const items = [...groups.values()].map(({ part, rows }) => needOf(part, rows, stock, reading.now))
  return {
    items: items.sort((a, b) => (a.orderBy ?? '9').localeCompare(b.orderBy ?? '9') || a.firstNeededOn.localeCompare(b.firstNeededOn)),
  }
}

function needOf(part: FitRow | undefined, rows: readonly NeedRow[], stock: readonly StockRow[], now: Date): PartNeed {
  const first = rows[0] as NeedRow
  const here = stock.find((row) => row.partId === part?.partId && row.warehouseId === first.warehouseId)
  const needed = rows.reduce((sum, row) => sum + row.quantity, 0)
  const there = (here?.onHand ?? 0) + (here?.onOrder ?? 0)
  const missing = Math.max(0, needed - there)
  const shortOn = firstShort(rows, there)
  const today = localDateOf(now, first.zone)
  const orderBy = shortOn === null || !here ? null : addDays(shortOn, -here.leadTimeDays)
  const name = part?.name ?? first.componentKey.replaceAll('_', ' ')
  return {
    partId: part?.partId ?? null,
    partName: name,
    componentKey: first.componentKey,
    warehouseId: first.warehouseId,
    warehouseName: first.warehouseName,
    needed,
    onHand: here?.onHand ?? 0,
    onOrder: here?.onOrder ?? 0,
    missing,
    firstNeededOn: first.neededOn,
    orderBy,
    leadTimeDays: here?.leadTimeDays ?? null,
    machines: rows.map(({ machineId, labelCode, taskName, neededOn, quantity }) => ({
      machineId,
      labelCode,
      taskName,
      neededOn,
      quantity,
    })),
    sentence: sentenceOf(name, first.warehouseName, needed, missing, orderBy, today),
  }
}

/** The day on which what is there no longer reaches. */
function firstShort(rows: readonly NeedRow[], there: number): string | null {
  let left = there
  for (const row of rows) {
    left -= row.quantity
    if (left < 0) return row.neededOn
  }
  return null
}

function sentenceOf(name: string, warehouse: string, needed: number, missing: number, orderBy: string | null, today: string): string {
  if (missing === 0) return `${warehouse}: ${needed} × ${name} will be needed; they are there or on order.`
  if (orderBy === null) return `${warehouse}: ${missing} × ${name} are missing; no lead time is in the books.`
  return `${warehouse}: order ${missing} × ${name} ${orderBy <= today ? 'now' : `by ${sayDate(orderBy, today)}`}.`
}
