import type { PgScope } from '../pg-scope.js'

export interface MachineRow extends Record<string, unknown> {
  id: string
  machine_type_id: string
  status: string
  status_since: string
  registered_on: string
  commissioned_on: string | null
  tape: string
  line: string
  walking_order: number
  ledger_months: Record<string, string>
  forecast_digest: string
}

const MACHINES = `
  SELECT m.id, m.machine_type_id, m.status, m.status_since, m.registered_on, m.commissioned_on, m.tape, coalesce(s.line, '') AS line, coalesce(s.walking_order, 0) AS walking_order,
    coalesce(t.ledger_months, '{}') AS ledger_months, coalesce(t.forecast_digest, '') AS forecast_digest
  FROM machine m
  JOIN placement p ON p.organisation_id = $1 AND p.machine_id = m.id AND p.to_at IS NULL AND p.warehouse_id = $2
  LEFT JOIN station s ON s.organisation_id = $1 AND s.id = p.station_id
  LEFT JOIN planning_state t ON t.organisation_id = $1 AND t.machine_id = m.id
  WHERE m.organisation_id = $1 AND m.id = ANY($3::uuid[]) ORDER BY m.id`

/** Those of the machines that stand in this warehouse now. */
export function readMachines(scope: PgScope, warehouseId: string, machineIds: readonly string[]): Promise<MachineRow[]> {
  return scope.rows<MachineRow>(MACHINES, [scope.organisationId, warehouseId, machineIds])
}

export async function machinesOfWarehouse(scope: PgScope, warehouseId: string): Promise<string[]> {
  const rows = await scope.arrays<[string]>(
    `SELECT machine_id FROM placement WHERE organisation_id = $1 AND warehouse_id = $2 AND to_at IS NULL ORDER BY machine_id`,
    [scope.organisationId, warehouseId],
  )
  return rows.map(([id]) => id)
}

export interface PlacementRow extends Record<string, unknown> {
  machine_id: string
  warehouse_id: string
  station_id: string | null
  from_at: Date
  to_at: Date | null
  share_of_station: number
}

/** Every placement of these machines, and of all others at the stations where they stood: shares are of the station. */
export function readPlacements(scope: PgScope, machineIds: readonly string[]): Promise<PlacementRow[]> {
  return scope.rows<PlacementRow>(
    `WITH own AS (SELECT DISTINCT station_id FROM placement WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND station_id IS NOT NULL)
     SELECT machine_id, warehouse_id, station_id, from_at, to_at, share_of_station FROM placement
     WHERE organisation_id = $1 AND (machine_id = ANY($2::uuid[]) OR station_id IN (SELECT station_id FROM own)) ORDER BY machine_id, from_at`,
    [scope.organisationId, machineIds],
  )
}

export async function readStatusPeriods(
  scope: PgScope,
  machineIds: readonly string[],
): Promise<{ machine_id: string; status: string; from_at: Date; to_at: Date | null; commissioned_on: string | null }[]> {
  return scope.rows(
    `SELECT s.machine_id, s.status, s.from_at, s.to_at, m.commissioned_on FROM machine_status_period s
     JOIN machine m ON m.organisation_id = s.organisation_id AND m.id = s.machine_id
     WHERE s.organisation_id = $1 AND s.machine_id = ANY($2::uuid[]) ORDER BY s.machine_id, s.from_at`,
    [scope.organisationId, machineIds],
  )
}

export async function readStripsPerCarton(scope: PgScope, stationIds: readonly string[]): Promise<Map<string, number | null>> {
  if (stationIds.length === 0) return new Map()
  return new Map(
    await scope.arrays<[string, number | null]>(
      `SELECT id, strips_per_carton FROM station WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
      [scope.organisationId, stationIds],
    ),
  )
}
