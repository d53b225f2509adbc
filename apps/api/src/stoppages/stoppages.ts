import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteQuery, RouteResult, Routes, Stoppage } from '@tapewarden/shared'
import { type KnownCalendar, readCalendars } from '../use/calendar.js'
import { pageOf, readCursor } from '../use/paging.js'
import { assignments, type Columns, insertion, requireVersion } from '../use/patch.js'
import { placeOf } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'
import { durationsOf, type Moments } from './durations.js'

export interface StoppageRow extends Record<string, unknown>, Moments {
  id: string
  machineId: string
  labelCode: string
  typeName: string
  warehouseId: string
  warehouseName: string
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

const COLUMNS: Columns = {
  failedAt: 'failed_at',
  noticedAt: 'noticed_at',
  reportedAt: 'reported_at',
  workBegunAt: 'work_begun_at',
  repairedAt: 'repaired_at',
  checkedAt: 'checked_at',
  backInUseAt: 'back_in_use_at',
  planned: 'planned',
  failureMode: 'failure_mode',
  cause: 'cause',
  noticedHow: 'noticed_how',
  note: 'note',
}

/** $2: the warehouses in reach. */
export const STOPPAGES = `SELECT x.id, m.id AS "machineId", m.label_code AS "labelCode", t.name AS "typeName", w.id AS "warehouseId", w.name AS "warehouseName", s.id AS "stationId",
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
  WHERE x.organisation_id = $1 AND ($2::uuid[] IS NULL OR x.warehouse_id = ANY($2))`

function stoppageOf(row: StoppageRow, now: Date, calendars: readonly KnownCalendar[]): Stoppage {
  const { machineId, labelCode, typeName, warehouseId, warehouseName, stationId, stationName, orderId, orderNumber, ...rest } = row
  return {
    ...rest,
    machine: { id: machineId, labelCode, typeName },
    warehouse: { id: warehouseId, name: warehouseName },
    station: stationId === null ? null : { id: stationId, name: stationName ?? '' },
    workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0 },
    durations: durationsOf(row, now.getTime(), calendars.find((known) => known.id === warehouseId)?.calendar ?? null),
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
    `${STOPPAGES} AND ($3::uuid IS NULL OR x.warehouse_id = $3) AND ($4::uuid IS NULL OR x.machine_id = $4)
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
  const row = await reading.one<StoppageRow>('stoppage', `${STOPPAGES} AND x.id = $3`, [reading.who.warehouseIds, stoppageId])
  return (await withDurations(reading, [row]))[0] as Stoppage
}

const ORDER = ['failedAt', 'noticedAt', 'reportedAt', 'workBegunAt', 'repairedAt', 'checkedAt', 'backInUseAt'] as const
const AHEAD_MS = 300_000

/** Moments follow each other, and none lies in the future. */
function checkMoments(moments: Partial<Moments>, now: Date): void {
  let before: { name: string; at: number } | null = null
  for (const name of ORDER) {
    const text = moments[name]
    if (!text) continue
    const at = Date.parse(text)
    if (at > now.getTime() + AHEAD_MS) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', `/${name}`)
    if (before && at < before.at) throw new InvalidError('MOMENTS_CROSS', `This lies before ${before.name}.`, `/${name}`)
    before = { name, at }
  }
  for (const [index, wait] of (moments.waits ?? []).entries())
    if (wait.toAt !== null && Date.parse(wait.toAt) < Date.parse(wait.fromAt))
      throw new InvalidError('MOMENTS_CROSS', 'This wait ends before it begins.', `/waits/${index}/toAt`)
}

async function componentTypeId(changing: Changing, key: string | null | undefined): Promise<string | null> {
  if (!key) return null
  const row = await changing.maybeOne<{ id: string }>(`SELECT id FROM component_type WHERE organisation_id = $1 AND key = $2`, [key])
  if (!row) throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'There is no such component type.', '/componentKey')
  return row.id
}

/** A machine that stands still already is not stopped twice: a second report is added to the first. */
export async function reportStoppage(changing: Changing, body: RouteBody<Routes['reportStoppage']>): Promise<Stoppage> {
  const place = await placeOf(changing, body.machineId, true)
  if (place.warehouseId === null) throw new InvalidError('NOT_PLACED', 'This machine stands in no warehouse.', '/machineId')
  const failedAt = body.failedAt ?? changing.now.toISOString()
  checkMoments({ ...body, failedAt }, changing.now)
  const again = await existing(changing, body)
  if (again) return again
  const id = body.id ?? newId()
  const moments = {
    ...body,
    failedAt,
    noticedAt: body.noticedAt ?? failedAt,
    reportedAt: body.reportedAt ?? (body.planned ? null : changing.now.toISOString()),
  }
  if (moments.reportedAt !== null && body.backInUseAt && moments.reportedAt > body.backInUseAt) moments.reportedAt = null
  const { names, places, values } = insertion(COLUMNS, moments, 10)
  await changing.run(
    `INSERT INTO stoppage (organisation_id, id, machine_id, warehouse_id, station_id, reported_by, component_type_id, waits, created_at${names})
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8::jsonb, $9${places})`,
    [
      id,
      body.machineId,
      place.warehouseId,
      place.stationId,
      body.reportedBy ?? changing.who.name,
      await componentTypeId(changing, body.componentKey),
      JSON.stringify(body.waits ?? []),
      changing.now,
      ...values,
    ],
  )
  const after = await getStoppage(changing, id)
  changing.note({ action: 'report', subjectKind: 'stoppage', subjectId: id, after })
  return after
}

async function existing(changing: Changing, body: RouteBody<Routes['reportStoppage']>): Promise<Stoppage | null> {
  if (body.id !== undefined) {
    const sent = await changing.maybeOne<{ id: string }>(
      `SELECT id FROM stoppage WHERE organisation_id = $1 AND id = $2 AND machine_id = $3`,
      [body.id, body.machineId],
    )
    if (sent) return getStoppage(changing, sent.id)
  }
  if (body.backInUseAt) return null
  const open = await changing.maybeOne<{ id: string; note: string }>(
    `SELECT id, note FROM stoppage WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL ORDER BY failed_at LIMIT 1`,
    [body.machineId],
  )
  if (!open) return null
  const words = [body.failureMode?.replaceAll('_', ' '), body.note].filter((text) => text).join(': ')
  const note = [open.note, `Reported again by ${body.reportedBy ?? changing.who.name}${words ? `: ${words}` : ''}`]
    .filter((text) => text !== '')
    .join('\n')
  await changing.run(`UPDATE stoppage SET note = $3, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    open.id,
    note.slice(0, 20_000),
  ])
  changing.note({ action: 'report again', subjectKind: 'stoppage', subjectId: open.id, after: body })
  return getStoppage(changing, open.id)
}

export async function patchStoppage(changing: Changing, stoppageId: string, body: RouteBody<Routes['patchStoppage']>): Promise<Stoppage> {
  await changing.rows(`SELECT id FROM stoppage WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [stoppageId])
  const before = await getStoppage(changing, stoppageId)
  requireVersion(body.version, before.version)
  checkMoments({ ...before, ...body }, changing.now)
  const { set, values } = assignments(COLUMNS, body, 3)
  if (body.waits) set.push(`waits = $${3 + values.push(JSON.stringify(body.waits)) - 1}::jsonb`)
  if (body.componentKey !== undefined)
    set.push(`component_type_id = $${3 + values.push(await componentTypeId(changing, body.componentKey)) - 1}`)
  await changing.run(`UPDATE stoppage SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    stoppageId,
    ...values,
  ])
  const after = await getStoppage(changing, stoppageId)
  changing.note({ action: 'change', subjectKind: 'stoppage', subjectId: stoppageId, before, after })
  return after
}

export async function closeStoppage(changing: Changing, stoppageId: string, body: RouteBody<Routes['closeStoppage']>): Promise<Stoppage> {
  await changing.rows(`SELECT id FROM stoppage WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [stoppageId])
  const before = await getStoppage(changing, stoppageId)
  if (!before.open) throw new ConflictError('CLOSED_ALREADY', `It was back in use on ${before.backInUseAt}.`)
  const backInUseAt = body.backInUseAt ?? changing.now.toISOString()
  checkMoments({ ...before, backInUseAt }, changing.now)
  await changing.run(
    `UPDATE stoppage SET back_in_use_at = $3, cause = COALESCE($4, cause), note = trim(both E'\\n' from note || E'\\n' || $5), version = version + 1
     WHERE organisation_id = $1 AND id = $2`,
    [stoppageId, backInUseAt, body.cause ?? null, body.note ?? ''],
  )
  const after = await getStoppage(changing, stoppageId)
  changing.note({ action: 'close', subjectKind: 'stoppage', subjectId: stoppageId, before, after })
  return after
}
