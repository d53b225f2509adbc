import type { RouteResult, Routes, Warehouse, WarehouseDetail } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'

type WarehouseRow = Omit<Warehouse, 'today'> & Record<string, unknown>

const SELECT = `SELECT w.id, w.name, w.zone, w.address, w.water_hardness AS "waterHardness", w.currency,
    w.labour_cost_per_hour AS "labourCostPerHour", w.stoppage_cost_per_hour AS "stoppageCostPerHour", w.technician_hours_a_week AS "technicianHoursAWeek", w.parts_service_percent AS "partsServicePercent", w.units,
    w.first_person_id AS "firstPersonId", w.second_person_id AS "secondPersonId",
    (SELECT p.name FROM person p WHERE p.organisation_id = w.organisation_id AND p.id = w.first_person_id) AS "firstPersonName",
    (SELECT p.name FROM person p WHERE p.organisation_id = w.organisation_id AND p.id = w.second_person_id) AS "secondPersonName", w.version, w.planned_on AS "plannedOn",
    w.planned_version >= w.evidence_version AS "upToDate",
    (SELECT count(*)::int FROM placement p WHERE p.organisation_id = w.organisation_id AND p.warehouse_id = w.id AND p.to_at IS NULL) AS "machineCount",
    (SELECT count(*)::int FROM station s WHERE s.organisation_id = w.organisation_id AND s.warehouse_id = w.id) AS "stationCount"
  FROM warehouse w WHERE w.organisation_id = $1 AND ($2::uuid[] IS NULL OR w.id = ANY($2))`

export async function listWarehouses(reading: Reading): Promise<RouteResult<Routes['listWarehouses']>> {
  const rows = await reading.rows<WarehouseRow>(`${SELECT} ORDER BY w.name, w.id`, [reading.who.warehouseIds])
  return { items: rows.map((row) => ({ ...row, today: localDateOf(reading.now, row.zone) })) }
}

export async function getWarehouse(reading: Reading, warehouseId: string): Promise<WarehouseDetail> {
  const row = await reading.one<WarehouseRow>('warehouse', `${SELECT} AND w.id = $3`, [reading.who.warehouseIds, warehouseId])
  const of = [warehouseId]
  const shifts = await reading.rows<WarehouseDetail['shifts'][number]>(
    `SELECT id, weekday, to_char(starts, 'HH24:MI') AS starts, to_char(ends, 'HH24:MI') AS ends
     FROM shift WHERE organisation_id = $1 AND warehouse_id = $2 ORDER BY weekday, starts, id`,
    of,
  )
  const closures = await reading.rows<WarehouseDetail['closures'][number]>(
    `SELECT id, from_date AS "fromDate", to_date AS "toDate", reason FROM closure WHERE organisation_id = $1 AND warehouse_id = $2 ORDER BY from_date, id`,
    of,
  )
  const peaks = await reading.rows<WarehouseDetail['peaks'][number]>(
    `SELECT id, name, from_date AS "fromDate", to_date AS "toDate", usage_multiplier AS "usageMultiplier", bars
     FROM peak WHERE organisation_id = $1 AND warehouse_id = $2 ORDER BY from_date, id`,
    of,
  )
  const people = await reading.rows<WarehouseDetail['people'][number]>(
    `SELECT p.id, p.name, p.role, p.disabled_at IS NOT NULL AS disabled
     FROM person_warehouse x JOIN person p ON p.organisation_id = x.organisation_id AND p.id = x.person_id
     WHERE x.organisation_id = $1 AND x.warehouse_id = $2 ORDER BY p.name, p.id`,
    of,
  )
  return { ...row, today: localDateOf(reading.now, row.zone), shifts, closures, peaks, people }
}
