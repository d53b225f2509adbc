import type { MachineDetail } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'

export interface Placed {
  warehouseId: string
  stationId: string | null
  shareOfStation: number
}

/** What a change of a machine looks at and writes down: its own row and where it stands, without dates, orders and history. */
export type MachineNow = Pick<
  MachineDetail,
  | 'id'
  | 'labelCode'
  | 'serialNumber'
  | 'status'
  | 'owner'
  | 'mayOpen'
  | 'commissionedOn'
  | 'warrantyUntil'
  | 'serviceFirm'
  | 'serviceTelephone'
  | 'tape'
  | 'note'
  | 'version'
> & {
  /** Since when it has this status, an instant. */
  statusFrom: string | null
}

interface NowRow extends MachineNow, Placed, Record<string, unknown> {}

const NOW = `SELECT m.id, m.label_code AS "labelCode", m.serial_number AS "serialNumber", m.status, m.owner, m.may_open AS "mayOpen",
    m.commissioned_on AS "commissionedOn", m.warranty_until AS "warrantyUntil", m.service_firm AS "serviceFirm", m.service_telephone AS "serviceTelephone",
    m.tape, m.note, m.version, x.from_at AS "statusFrom", p.warehouse_id AS "warehouseId", p.station_id AS "stationId", p.share_of_station AS "shareOfStation"
  FROM machine m
  LEFT JOIN machine_status_period x ON x.organisation_id = m.organisation_id AND x.machine_id = m.id AND x.to_at IS NULL
  LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
  WHERE m.organisation_id = $1 AND m.id = $2 AND ($3::uuid[] IS NULL OR p.warehouse_id = ANY($3))`

/** @returns its place apart: the history tells moves by themselves */
export async function machineNow(reading: Reading, machineId: string): Promise<{ machine: MachineNow; placed: Placed | null }> {
  const row = await reading.one<NowRow>('machine', NOW, [machineId, reading.who.warehouseIds])
  const { warehouseId, stationId, shareOfStation, ...machine } = row
  return { machine, placed: warehouseId === null ? null : { warehouseId, stationId, shareOfStation } }
}
