/** What the dates and the life of parts ask for, by warehouse and part, with the stock there is. */
import { type PartPlace, type PartStockHeld, type TaskThatTakes } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { dayNumber, dayNumberOrNull } from '../planning/days.js'
import { readLives, type Where } from './read-lives.js'

export interface PartNeedsHere {
  warehouseId: string
  warehouseName: string
  zone: string
  servicePercent: number
  componentKey: string
  /** null: no part in the books fits. */
  part: { id: string; name: string; stockCode: string } | null
  places: PartPlace[]
  /** null: never counted here. */
  stock: (PartStockHeld & { reserved: number }) | null
}

interface TaskRow extends Record<string, unknown> {
  warehouseId: string
  machineId: string
  machineTypeId: string
  labelCode: string
  componentKey: string
  quantity: number
  taskName: string
  earlyOn: string | null
  likelyOn: string
  lateOn: string | null
  noLaterThan: string | null
}

/** Open tasks by their due day, others by their range. A task with parts takes them, whatever brings it. */
const TASKS = `
  WITH due AS (
    SELECT o.machine_id, o.plan_task_id, o.warehouse_id, o.due_on AS early, o.due_on AS likely, o.due_on AS late, o.due_on AS last
    FROM occurrence o WHERE o.organisation_id = $1 AND o.state = 'open' AND ($2::uuid[] IS NULL OR o.warehouse_id = ANY($2))
    UNION ALL
    SELECT f.machine_id, f.plan_task_id, f.warehouse_id, f.early_on, f.likely_on, f.late_on, f.no_later_than
    FROM forecast f WHERE f.organisation_id = $1 AND f.state = 'dated' AND f.likely_on IS NOT NULL AND ($2::uuid[] IS NULL OR f.warehouse_id = ANY($2))
      AND NOT EXISTS (SELECT 1 FROM occurrence o WHERE o.organisation_id = $1 AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id AND o.state = 'open'))
  SELECT d.warehouse_id AS "warehouseId", m.id AS "machineId", m.machine_type_id AS "machineTypeId", m.label_code AS "labelCode",
    r."componentKey", r.quantity, t.name AS "taskName", d.early AS "earlyOn", d.likely AS "likelyOn", d.late AS "lateOn", d.last AS "noLaterThan"
  FROM plan_task t
  JOIN due d ON d.plan_task_id = t.id
  JOIN machine m ON m.organisation_id = $1 AND m.id = d.machine_id AND m.status = 'in_service'
  CROSS JOIN LATERAL jsonb_to_recordset(t.parts) AS r("componentKey" text, quantity int)
  WHERE t.organisation_id = $1 AND t.parts <> '[]'`

interface InPlaceRow extends Record<string, unknown> {
  warehouseId: string
  machineId: string
  machineTypeId: string
  labelCode: string
  componentKey: string
  newOn: string | null
}

/** Parts in place of which a warehouse's newest pass knew the life, and which something in the books can replace. */
const IN_PLACE = `
  SELECT l.warehouse_id AS "warehouseId", m.id AS "machineId", m.machine_type_id AS "machineTypeId", m.label_code AS "labelCode",
    t.key AS "componentKey", c.new_on AS "newOn"
  FROM placement l
  JOIN machine m ON m.organisation_id = $1 AND m.id = l.machine_id AND m.status = 'in_service'
  JOIN component_placement p ON p.organisation_id = $1 AND p.machine_id = m.id AND p.to_date IS NULL
  JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id
  JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = ANY($3)
  WHERE l.organisation_id = $1 AND l.to_at IS NULL AND ($2::uuid[] IS NULL OR l.warehouse_id = ANY($2))
    AND EXISTS (SELECT 1 FROM part x JOIN part_fit f ON f.organisation_id = $1 AND f.part_id = x.id AND f.machine_type_id = m.machine_type_id
      WHERE x.organisation_id = $1 AND x.component_type_id = t.id AND x.in_books)`

interface FitRow extends Record<string, unknown> {
  id: string
  name: string
  stockCode: string
  componentKey: string
  machineTypeIds: string[]
}

async function readFits(scope: PgScope): Promise<FitRow[]> {
  return scope.rows<FitRow>(
    `SELECT p.id, p.name, p.stock_code AS "stockCode", c.key AS "componentKey", array_agg(f.machine_type_id) AS "machineTypeIds"
     FROM part p JOIN component_type c ON c.organisation_id = $1 AND c.id = p.component_type_id
     JOIN part_fit f ON f.organisation_id = $1 AND f.part_id = p.id
     WHERE p.organisation_id = $1 AND p.in_books GROUP BY p.id, p.name, p.stock_code, c.key ORDER BY p.stock_code`,
    [scope.organisationId],
  )
}

type StockRow = Record<string, unknown> & PartStockHeld & { reserved: number; partId: string; warehouseId: string }

async function readStock(scope: PgScope, { warehouseIds }: Where): Promise<Map<string, StockRow>> {
  const rows = await scope.rows<StockRow>(
    `SELECT part_id AS "partId", warehouse_id AS "warehouseId", on_hand AS "onHand", reserved, on_order AS "onOrder", lead_time_days AS "leadTimeDays",
       lead_time_spread_days AS "leadTimeSpreadDays"
     FROM part_stock WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR warehouse_id = ANY($2))`,
    [scope.organisationId, warehouseIds],
  )
  return new Map(rows.map((row) => [`${row.partId} ${row.warehouseId}`, row]))
}

interface WarehouseRow extends Record<string, unknown> {
  id: string
  name: string
  zone: string
  servicePercent: number
}

type PlaceToFill = PartPlace & { tasks: TaskThatTakes[] }
interface NeedToFill {
  need: PartNeedsHere
  byMachine: Map<string, PlaceToFill>
}

/** Places by warehouse, part and machine, as the rows come in. */
class Gathered {
  readonly needs = new Map<string, NeedToFill>()

  constructor(
    private readonly warehouses: ReadonlyMap<string, WarehouseRow>,
    private readonly fits: readonly FitRow[],
    private readonly stock: ReadonlyMap<string, StockRow>,
  ) {}

  place(row: TaskRow | InPlaceRow, quantity: number): PlaceToFill | null {
    const filling = this.needOf(row)
    if (!filling) return null
    const known = filling.byMachine.get(row.machineId)
    if (known) {
      known.quantity = Math.max(known.quantity, quantity)
      return known
    }
    const place: PlaceToFill = { machineId: row.machineId, labelCode: row.labelCode, quantity, tasks: [], mayFail: null }
    filling.byMachine.set(row.machineId, place)
    filling.need.places.push(place)
    return place
  }

  /** The first part by stock code that fits the machine's type. */
  private needOf({ warehouseId, componentKey, machineTypeId }: TaskRow | InPlaceRow): NeedToFill | null {
    const warehouse = this.warehouses.get(warehouseId)
    if (!warehouse) return null
    const part = this.fits.find((fit) => fit.componentKey === componentKey && fit.machineTypeIds.includes(machineTypeId))
    const key = `${warehouseId} ${part?.id ?? componentKey}`
    const known = this.needs.get(key)
    if (known) return known
    const need: PartNeedsHere = {
      warehouseId,
      warehouseName: warehouse.name,
      zone: warehouse.zone,
      servicePercent: warehouse.servicePercent,
      componentKey,
      part: part ? { id: part.id, name: part.name, stockCode: part.stockCode } : null,
      places: [],
      stock: (part && this.stock.get(`${part.id} ${warehouseId}`)) ?? null,
    }
    const filling = { need, byMachine: new Map<string, PlaceToFill>() }
    this.needs.set(key, filling)
    return filling
  }
}

/**
 * In a fixed number of queries, whatever the number of machines. One place a machine and part: whatever comes first takes it.
 * @param today local date, for the age of parts in place
 */
export async function readPartNeeds(scope: PgScope, where: Where, today: string): Promise<PartNeedsHere[]> {
  const { warehouseIds } = where
  const warehouses = await scope.rows<WarehouseRow>(
    `SELECT id, name, zone, parts_service_percent AS "servicePercent" FROM warehouse WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR id = ANY($2)) ORDER BY name`,
    [scope.organisationId, warehouseIds],
  )
  const gathered = new Gathered(
    new Map(warehouses.map((warehouse) => [warehouse.id, warehouse])),
    await readFits(scope),
    await readStock(scope, where),
  )
  for (const row of await scope.rows<TaskRow>(TASKS, [scope.organisationId, warehouseIds]))
    gathered.place(row, row.quantity)?.tasks.push({
      taskName: row.taskName,
      early: dayNumberOrNull(row.earlyOn),
      likely: dayNumber(row.likelyOn),
      late: dayNumberOrNull(row.lateOn),
      noLaterThan: dayNumberOrNull(row.noLaterThan),
    })
  const lives = await readLives(scope, where)
  const keys = [...new Set([...lives.values()].flatMap((life) => Object.keys(life)))]
  const inPlace = keys.length === 0 ? [] : await scope.rows<InPlaceRow>(IN_PLACE, [scope.organisationId, warehouseIds, keys])
  for (const row of inPlace) {
    const life = lives.get(row.warehouseId)?.[row.componentKey]
    const place = life && gathered.place(row, 1)
    if (place) place.mayFail = { ageYears: row.newOn === null ? null : Math.max(0, dayNumber(today) - dayNumber(row.newOn)) / 365.25, life }
  }
  return [...gathered.needs.values()].map(({ need }) => need)
}
