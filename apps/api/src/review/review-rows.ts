import type { Reading } from '../use/work.js'

export interface ReviewedMachine extends Record<string, unknown> {
  id: string
  labelCode: string
  typeName: string
  warehouseId: string
  warehouseName: string
  zone: string
  stationName: string | null
  currency: string
  stoppageCostPerHour: number | null
  /** In service, epoch milliseconds; to null: still. */
  inService: { from: number; to: number | null }[]
}

const MS = (column: string) => `(EXTRACT(epoch FROM ${column}) * 1000)::float8`

export function reviewedMachines(
  reading: Reading,
  warehouseId: string | undefined,
  machineTypeId: string | undefined,
): Promise<ReviewedMachine[]> {
  return reading.rows<ReviewedMachine>(
    `SELECT m.id, m.label_code AS "labelCode", t.name AS "typeName", w.id AS "warehouseId", w.name AS "warehouseName", w.zone, s.name AS "stationName", w.currency,
       w.stoppage_cost_per_hour AS "stoppageCostPerHour",
       COALESCE((SELECT jsonb_agg(jsonb_build_object('from', ${MS('x.from_at')}, 'to', ${MS('x.to_at')})) FROM machine_status_period x
         WHERE x.organisation_id = m.organisation_id AND x.machine_id = m.id AND x.status = 'in_service'), '[]') AS "inService"
     FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR w.id = ANY($2)) AND ($3::uuid IS NULL OR w.id = $3) AND ($4::uuid IS NULL OR t.id = $4)
     ORDER BY m.label_code, m.id`,
    [reading.who.warehouseIds, warehouseId ?? null, machineTypeId ?? null],
  )
}

export interface EndedCare extends Record<string, unknown> {
  machineId: string
  ended: number
  inTime: number
  missed: number
}

/** Care that ended in the period: done, or counted as missed. In time: done before it was late; superseded and skipped say nothing. */
export function endedCare(reading: Reading, machineIds: readonly string[], from: string, to: string): Promise<EndedCare[]> {
  return reading.rows<EndedCare>(
    `SELECT machine_id AS "machineId", count(*)::int AS ended,
       count(*) FILTER (WHERE state = 'done' AND (late_from IS NULL OR done_on < late_from))::int AS "inTime", count(*) FILTER (WHERE counted_as_missed)::int AS missed
     FROM occurrence WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND ended_on BETWEEN $3 AND $4 AND (state = 'done' OR counted_as_missed)
     GROUP BY machine_id`,
    [machineIds, from, to],
  )
}
