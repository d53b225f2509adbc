import { NotFoundError } from '@tapewarden/platform'
import type { Who } from '../http/call.js'
import type { Rows } from './rows.js'

/** @throws NotFoundError: a warehouse that one does not serve is as unknown as one that is not there */
export function requireWarehouse(who: Who, warehouseId: string): void {
  if (who.warehouseIds !== null && !who.warehouseIds.includes(warehouseId)) throw new NotFoundError('warehouse')
}

export interface Place extends Record<string, unknown> {
  machineId: string
  machineTypeId: string
  labelCode: string
  status: string
  statusSince: string
  registeredOn: string
  placementId: string | null
  warehouseId: string | null
  stationId: string | null
  placedFrom: string | null
  zone: string | null
}

const PLACE = `SELECT m.id AS "machineId", m.machine_type_id AS "machineTypeId", m.label_code AS "labelCode", m.status, m.status_since AS "statusSince",
    m.registered_on AS "registeredOn", p.id AS "placementId", p.warehouse_id AS "warehouseId", p.station_id AS "stationId", p.from_at AS "placedFrom", w.zone
  FROM machine m
  LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
  WHERE m.organisation_id = $1 AND m.id = $2 AND ($3::uuid[] IS NULL OR p.warehouse_id = ANY($3))`

/** A machine and where it stands now, if the asker may see it. lock: nobody else moves or changes it meanwhile. */
export function placeOf(rows: Rows & { who: Who }, machineId: string, lock = false): Promise<Place> {
  return rows.one<Place>('machine', lock ? `${PLACE} FOR UPDATE OF m` : PLACE, [machineId, rows.who.warehouseIds])
}
