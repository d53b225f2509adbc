import type { MachineDetail } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'
import { duesOf, SUMMARY_FIELDS, SUMMARY_FROM, type SummaryRow, summaryOf } from './machine-list.js'

interface DetailRow extends SummaryRow {
  commissionedOn: string | null
  registeredOn: string
  warrantyUntil: string | null
  serviceFirm: string
  serviceTelephone: string
  tape: MachineDetail['tape']
  note: string
  stripsTotal: number
}

const DETAIL = `SELECT ${SUMMARY_FIELDS}, m.commissioned_on AS "commissionedOn", m.registered_on AS "registeredOn", m.warranty_until AS "warrantyUntil",
    m.service_firm AS "serviceFirm", m.service_telephone AS "serviceTelephone", m.tape, m.note,
    COALESCE((SELECT l.strips_total FROM ledger_day l WHERE l.organisation_id = m.organisation_id AND l.machine_id = m.id ORDER BY l.day DESC LIMIT 1), 0) AS "stripsTotal"
  ${SUMMARY_FROM} WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2))`

export async function getMachine(reading: Reading, machineId: string): Promise<MachineDetail> {
  return detailOf(reading, await reading.one<DetailRow>('machine', `${DETAIL} AND m.id = $3`, [reading.who.warehouseIds, machineId]))
}

/** Twelve letters may be what a printed label's code holds. */
const BY_TOKEN = `m.id = (SELECT l.machine_id FROM machine_label l WHERE l.organisation_id = $1 AND l.token = upper($3) AND l.cancelled_at IS NULL)`

/** A hand scanner or a person may type it in either case; the code of a printed label opens its machine too. */
export async function getMachineByLabel(reading: Reading, labelCode: string): Promise<MachineDetail> {
  const row = await reading.one<DetailRow>(
    'machine',
    `${DETAIL} AND (lower(m.label_code) = lower($3) OR ${BY_TOKEN})
     ORDER BY m.label_code = $3 DESC, lower(m.label_code) = lower($3) DESC LIMIT 1`,
    [reading.who.warehouseIds, labelCode],
  )
  return detailOf(reading, row)
}

type PlacementRow = Record<string, unknown> & {
  id: string
  warehouseId: string
  warehouseName: string
  stationId: string | null
  stationName: string | null
  line: string | null
  fromAt: string
  toAt: string | null
  shareOfStation: number
}

/** The newest first. @param most  left out: all */
export async function placementsOf(reading: Reading, machineId: string, most?: number): Promise<MachineDetail['placements']> {
  const rows = await reading.rows<PlacementRow>(
    `SELECT p.id, w.id AS "warehouseId", w.name AS "warehouseName", s.id AS "stationId", s.name AS "stationName", s.line, p.from_at AS "fromAt", p.to_at AS "toAt",
       p.share_of_station AS "shareOfStation"
     FROM placement p JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     LEFT JOIN station s ON s.organisation_id = p.organisation_id AND s.id = p.station_id
     WHERE p.organisation_id = $1 AND p.machine_id = $2 ORDER BY p.from_at DESC, p.id DESC LIMIT $3`,
    [machineId, most ?? null],
  )
  return rows.map((row) => ({
    id: row.id,
    warehouse: { id: row.warehouseId, name: row.warehouseName },
    station: row.stationId === null ? null : { id: row.stationId, name: row.stationName ?? '', line: row.line ?? '' },
    fromAt: row.fromAt,
    toAt: row.toAt,
    shareOfStation: row.shareOfStation,
  }))
}

async function detailOf(reading: Reading, row: DetailRow): Promise<MachineDetail> {
  const dues = await duesOf(reading, [row])
  const statusPeriods = await reading.rows<MachineDetail['statusPeriods'][number]>(
    `SELECT x.id, x.status, x.from_at AS "fromAt", x.to_at AS "toAt", x.reason, p.name AS "personName"
     FROM machine_status_period x LEFT JOIN person p ON p.organisation_id = x.organisation_id AND p.id = x.person_id
     WHERE x.organisation_id = $1 AND x.machine_id = $2 ORDER BY x.from_at DESC, x.id DESC`,
    [row.id],
  )
  const openStoppage = await reading.maybeOne<NonNullable<MachineDetail['openStoppage']>>(
    `SELECT id, failed_at AS "failedAt", failure_mode AS "failureMode", work_order_id AS "workOrderId" FROM stoppage
     WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL ORDER BY failed_at LIMIT 1`,
    [row.id],
  )
  const openWorkOrders = await reading.rows<MachineDetail['openWorkOrders'][number]>(
    `SELECT o.id, o.number, o.state, p.name AS "technicianName" FROM work_order o
     LEFT JOIN person p ON p.organisation_id = o.organisation_id AND p.id = o.technician_id
     WHERE o.organisation_id = $1 AND o.machine_id = $2 AND o.state NOT IN ('looked_over', 'cancelled', 'done') ORDER BY o.number`,
    [row.id],
  )
  const summary = summaryOf(row, dues.get(row.id))
  return {
    ...summary,
    commissionedOn: row.commissionedOn,
    registeredOn: row.registeredOn,
    warrantyUntil: row.warrantyUntil,
    serviceFirm: row.serviceFirm,
    serviceTelephone: row.serviceTelephone,
    tape: row.tape,
    note: row.note,
    zone: row.zone,
    today: row.zone === null ? null : localDateOf(reading.now, row.zone),
    stripsTotal: row.stripsTotal,
    placements: await placementsOf(reading, row.id),
    statusPeriods,
    openStoppage,
    openWorkOrders,
    notices: noticesOf(row, summary.doNotUse, statusPeriods[0]?.reason ?? ''),
  }
}

/** Never 'safe' or 'OK': only what speaks against using or opening it. */
export function noticesOf(
  row: Pick<DetailRow, 'assumed' | 'status' | 'statusSince' | 'mayOpen' | 'owner' | 'serviceFirm' | 'serviceTelephone'>,
  doNotUse: boolean,
  reason: string,
): string[] {
  const notices: string[] = []
  if (row.status === 'tagged_out') notices.push(`Tagged out since ${row.statusSince}${reason ? `: ${reason}` : ''}. Do not use it.`)
  if (doNotUse) notices.push("A safety check is past its day: do not use until checked, or as your site's rules say.")
  if (row.mayOpen === 'service_firm_only')
    notices.push(
      `Not ours to open${row.owner === 'own' ? '' : `; it is ${row.owner}`}. Ask ${row.serviceFirm || 'its service firm'}${row.serviceTelephone ? `, ${row.serviceTelephone}` : ''}.`,
    )
  if (row.assumed.includes('supply'))
    notices.push('Nobody has said whether it has a plug or is wired in: take it as wired in until somebody has.')
  if (row.assumed.includes('heater')) notices.push('Nobody has said whether it has a heater: take it as having one, and hot.')
  return notices
}
