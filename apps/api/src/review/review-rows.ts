import type { StoppageRow } from '../stoppages/stoppages.js'
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
  /** While it stood in warehouses that are not asked about. */
  elsewhere: { from: number; to: number | null }[]
}

export interface Asked {
  from: string
  to: string
  warehouseId?: string | undefined
  machineTypeId?: string | undefined
}

const MS = (column: string) => `(EXTRACT(epoch FROM ${column}) * 1000)::float8`
const periods = (of: string) =>
  `COALESCE((SELECT jsonb_agg(jsonb_build_object('from', ${MS('x.from_at')}, 'to', ${MS('x.to_at')})) FROM ${of}), '[]')`
/** $2 reach, $3 the warehouse asked about. */
export const inWarehouses = (column: string) => `($2::uuid[] IS NULL OR ${column} = ANY($2)) AND ($3::uuid IS NULL OR ${column} = $3)`

/** Machines that stood in the warehouses in the period, or of which something is on record there then; each named by where it stood last. */
export function reviewedMachines(reading: Reading, { from, to, warehouseId, machineTypeId }: Asked): Promise<ReviewedMachine[]> {
  return reading.rows<ReviewedMachine>(
    `SELECT m.id, m.label_code AS "labelCode", t.name AS "typeName", w.id AS "warehouseId", w.name AS "warehouseName", w.zone, s.name AS "stationName", w.currency,
       w.stoppage_cost_per_hour AS "stoppageCostPerHour",
       ${periods(`machine_status_period x WHERE x.organisation_id = m.organisation_id AND x.machine_id = m.id AND x.status = 'in_service'`)} AS "inService",
       ${periods(`placement x WHERE x.organisation_id = m.organisation_id AND x.machine_id = m.id AND NOT (${inWarehouses('x.warehouse_id')})`)} AS elsewhere
     FROM machine m JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
     JOIN LATERAL (SELECT y.warehouse_id, y.station_id FROM placement y WHERE y.organisation_id = m.organisation_id AND y.machine_id = m.id
       AND ${inWarehouses('y.warehouse_id')} ORDER BY y.to_at DESC NULLS FIRST, y.from_at DESC LIMIT 1) p ON true
     JOIN warehouse w ON w.organisation_id = m.organisation_id AND w.id = p.warehouse_id
     LEFT JOIN station s ON s.organisation_id = m.organisation_id AND s.id = p.station_id
     WHERE m.organisation_id = $1 AND ($4::uuid IS NULL OR t.id = $4) AND (
       EXISTS (SELECT 1 FROM placement y WHERE y.organisation_id = m.organisation_id AND y.machine_id = m.id AND ${inWarehouses('y.warehouse_id')}
         AND y.from_at < ($6::date + 2) AND COALESCE(y.to_at, 'infinity') >= ($5::date - 1))
       OR EXISTS (SELECT 1 FROM stoppage y WHERE y.organisation_id = m.organisation_id AND y.machine_id = m.id AND ${inWarehouses('y.warehouse_id')}
         AND y.failed_at < ($6::date + 2) AND COALESCE(y.back_in_use_at, 'infinity') >= ($5::date - 1))
       OR EXISTS (SELECT 1 FROM occurrence y WHERE y.organisation_id = m.organisation_id AND y.machine_id = m.id AND ${inWarehouses('y.warehouse_id')}
         AND y.ended_on BETWEEN $5 AND $6))
     ORDER BY m.label_code, m.id`,
    [reading.who.warehouseIds, warehouseId ?? null, machineTypeId ?? null, from, to],
  )
}

export interface EndedCare extends Record<string, unknown> {
  machineId: string
  ended: number
  inTime: number
  missed: number
}

/** Care that ended in the period: done, or counted as missed. In time: done before it was late; superseded and skipped say nothing. */
export function endedCare(reading: Reading, machineIds: readonly string[], { from, to, warehouseId }: Asked): Promise<EndedCare[]> {
  return reading.rows<EndedCare>(
    `SELECT machine_id AS "machineId", count(*)::int AS ended,
       count(*) FILTER (WHERE state = 'done' AND (late_from IS NULL OR done_on < late_from))::int AS "inTime", count(*) FILTER (WHERE counted_as_missed)::int AS missed
     FROM occurrence WHERE organisation_id = $1 AND ${inWarehouses('warehouse_id')} AND machine_id = ANY($4::uuid[]) AND ended_on BETWEEN $5 AND $6
       AND (state = 'done' OR counted_as_missed)
     GROUP BY machine_id`,
    [reading.who.warehouseIds, warehouseId ?? null, machineIds, from, to],
  )
}

export type ReviewedStoppage = Pick<
  StoppageRow,
  | 'machineId'
  | 'warehouseId'
  | 'planned'
  | 'failedAt'
  | 'noticedAt'
  | 'reportedAt'
  | 'workBegunAt'
  | 'repairedAt'
  | 'checkedAt'
  | 'backInUseAt'
  | 'waits'
  | 'componentName'
  | 'cause'
>

/** Those that reach into the period, with no more than the review asks of them: a large fleet has thousands in a year. */
export function reviewedStoppages(
  reading: Reading,
  machineIds: readonly string[],
  { from, to, warehouseId }: Asked,
): Promise<ReviewedStoppage[]> {
  return reading.rows<ReviewedStoppage & Record<string, unknown>>(
    `SELECT x.machine_id AS "machineId", x.warehouse_id AS "warehouseId", x.planned, x.failed_at AS "failedAt", x.noticed_at AS "noticedAt", x.reported_at AS "reportedAt",
       x.work_begun_at AS "workBegunAt", x.repaired_at AS "repairedAt", x.checked_at AS "checkedAt", x.back_in_use_at AS "backInUseAt", x.waits, c.name AS "componentName", x.cause
     FROM stoppage x LEFT JOIN component_type c ON c.organisation_id = x.organisation_id AND c.id = x.component_type_id
     WHERE x.organisation_id = $1 AND ${inWarehouses('x.warehouse_id')} AND x.machine_id = ANY($4::uuid[]) AND x.failed_at < ($6::date + 2)
       AND COALESCE(x.back_in_use_at, 'infinity') >= ($5::date - 1) ORDER BY x.failed_at, x.id`,
    [reading.who.warehouseIds, warehouseId ?? null, machineIds, from, to],
  )
}
