/** Stoppages as they are read: one, and a list of them, with the hours that their moments make. */
import type { OneStoppage, RouteQuery, RouteResult, Routes, Stoppage } from '@tapewarden/shared'
import { type KnownCalendar, readCalendars } from '../use/calendar.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { durationsOf, momentsOf, spansOf, type ToldMoments } from './durations.js'

export interface StoppageRow extends Record<string, unknown>, ToldMoments {
  id: string
  machineId: string
  labelCode: string
  typeName: string
  warehouseId: string
  warehouseName: string
  zone: string
  stationId: string | null
  stationName: string | null
  planned: boolean
  waits: { reason: string; fromAt: string; toAt: string | null }[]
  failureMode: string
  componentKey: string | null
  componentName: string | null
  cause: string
  noticedHow: string
  reportedBy: string
  orderId: string | null
  orderNumber: number | null
  note: string
  version: number
}

/** Of the whole organisation: whoever asks adds the warehouses in reach. */
export const STOPPAGES = `SELECT x.id, m.id AS "machineId", m.label_code AS "labelCode", t.name AS "typeName", w.id AS "warehouseId", w.name AS "warehouseName", w.zone, s.id AS "stationId",
    s.name AS "stationName", x.planned, x.failed_at AS "failedAt", x.noticed_at AS "noticedAt", x.reported_at AS "reportedAt", x.work_begun_at AS "workBegunAt",
    x.repaired_at AS "repairedAt", x.checked_at AS "checkedAt", x.back_in_use_at AS "backInUseAt", x.waits, x.failure_mode AS "failureMode", c.key AS "componentKey", c.name AS "componentName", x.cause,
    x.noticed_how AS "noticedHow", x.reported_by AS "reportedBy", o.id AS "orderId", o.number AS "orderNumber", x.note, x.version
  FROM stoppage x
  JOIN machine m ON m.organisation_id = x.organisation_id AND m.id = x.machine_id
  JOIN machine_type t ON t.organisation_id = m.organisation_id AND t.id = m.machine_type_id
  JOIN warehouse w ON w.organisation_id = x.organisation_id AND w.id = x.warehouse_id
  LEFT JOIN station s ON s.organisation_id = x.organisation_id AND s.id = x.station_id
  LEFT JOIN component_type c ON c.organisation_id = x.organisation_id AND c.id = x.component_type_id
  LEFT JOIN work_order o ON o.organisation_id = x.organisation_id AND o.id = x.work_order_id
  WHERE x.organisation_id = $1`
const IN_REACH = `($2::uuid[] IS NULL OR x.warehouse_id = ANY($2))`
/** A machine that was moved takes its story along: who serves where it stands now may see to it. */
const MACHINE_IN_REACH = `EXISTS (SELECT 1 FROM placement p WHERE p.organisation_id = x.organisation_id AND p.machine_id = x.machine_id AND p.to_at IS NULL AND p.warehouse_id = ANY($2))`

function stoppageOf(row: StoppageRow, now: Date, calendars: readonly KnownCalendar[]): Stoppage {
  const { machineId, labelCode, typeName, warehouseId, warehouseName, zone, stationId, stationName, orderId, orderNumber, ...rest } = row
  return {
    ...rest,
    machine: { id: machineId, labelCode, typeName },
    warehouse: { id: warehouseId, name: warehouseName, zone },
    station: stationId === null ? null : { id: stationId, name: stationName ?? '' },
    workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0 },
    durations: durationsOf(momentsOf(row), now.getTime(), calendars.find((known) => known.id === warehouseId)?.calendar ?? null),
    open: row.backInUseAt === null,
  }
}

async function withDurations(reading: Reading, rows: readonly StoppageRow[]): Promise<Stoppage[]> {
  const calendars = await readCalendars(reading, [...new Set(rows.map((row) => row.warehouseId))])
  return rows.map((row) => stoppageOf(row, reading.now, calendars))
}

export async function listStoppages(
  reading: Reading,
  query: RouteQuery<Routes['listStoppages']>,
): Promise<RouteResult<Routes['listStoppages']>> {
  const after = readCursor(query.cursor, ['instant', 'id'])
  const rows = await reading.rows<StoppageRow>(
    `${STOPPAGES} AND ${IN_REACH} AND ($3::uuid IS NULL OR x.warehouse_id = $3) AND ($4::uuid IS NULL OR x.machine_id = $4)
       AND ($5::date IS NULL OR CASE WHEN $12 THEN x.failed_at ELSE COALESCE(x.back_in_use_at, 'infinity') END >= ($5::date::timestamp AT TIME ZONE w.zone))
       AND ($6::date IS NULL OR x.failed_at < (($6::date + 1)::timestamp AT TIME ZONE w.zone))
       AND ($7::boolean IS NULL OR (x.back_in_use_at IS NULL) = $7) AND ($8::boolean IS NULL OR x.planned = $8)
       AND ($9::timestamptz IS NULL OR (date_trunc('milliseconds', x.failed_at), x.id) < ($9, $10::uuid))
       AND ($13::uuid IS NULL OR m.machine_type_id = $13)
     ORDER BY date_trunc('milliseconds', x.failed_at) DESC, x.id DESC LIMIT $11`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.machineId ?? null,
      query.from ?? null,
      query.to ?? null,
      query.open ?? null,
      query.planned ?? null,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
      query.begun ?? false,
      query.machineTypeId ?? null,
    ],
  )
  const page = pageOf(
    rows,
    query.limit,
    (row) => [row.failedAt, row.id],
    (row) => row,
  )
  return { items: await withDurations(reading, page.items), nextCursor: page.nextCursor }
}

export async function getStoppage(reading: Reading, stoppageId: string): Promise<Stoppage> {
  const row = await reading.one<StoppageRow>('stoppage', `${STOPPAGES} AND (${IN_REACH} OR ${MACHINE_IN_REACH}) AND x.id = $3`, [
    reading.who.warehouseIds,
    stoppageId,
  ])
  return (await withDurations(reading, [row]))[0] as Stoppage
}

/** With its picture: where the hours went, one after the other. */
export async function oneStoppage(reading: Reading, stoppageId: string): Promise<OneStoppage> {
  const stoppage = await getStoppage(reading, stoppageId)
  const at = (ms: number): string => new Date(ms).toISOString()
  const spans = spansOf(momentsOf(stoppage), reading.now.getTime()).map(({ kind, from, to }) => ({ kind, fromAt: at(from), toAt: at(to) }))
  return { ...stoppage, spans }
}
