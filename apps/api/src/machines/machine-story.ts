import { InvalidError } from '@tapewarden/platform'
import type { MachineUsage, RouteQuery, RouteResult, Routes, ServiceRecord } from '@tapewarden/shared'
import { addDays, daysBetween, localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import { placeOf } from '../use/reach.js'
import type { Reading } from '../use/work.js'

const USUAL_SPAN_DAYS = 180
const LONGEST_SPAN_DAYS = 1100

export async function machineUsage(reading: Reading, machineId: string, query: RouteQuery<Routes['machineUsage']>): Promise<MachineUsage> {
  const place = await placeOf(reading, machineId)
  const to = query.to ?? localDateOf(reading.now, place.zone ?? 'UTC')
  const from = query.from ?? addDays(to, -USUAL_SPAN_DAYS)
  if (from > to) throw new InvalidError('DATES_CROSS', 'The first day lies after the last.', 'query/from')
  if (daysBetween(from, to) > LONGEST_SPAN_DAYS)
    throw new InvalidError('SPAN_TOO_LONG', `At most ${LONGEST_SPAN_DAYS} days at once.`, 'query/from')
  const days = await reading.rows<MachineUsage['days'][number] & { total: number }>(
    `SELECT day, strips, metres, motor_minutes AS "motorMinutes", kind, relative_error AS "relativeError", strips_total AS total
     FROM ledger_day WHERE organisation_id = $1 AND machine_id = $2 AND day BETWEEN $3 AND $4 ORDER BY day`,
    [machineId, from, to],
  )
  const newest = await reading.maybeOne<{ total: number }>(
    `SELECT strips_total AS total FROM ledger_day WHERE organisation_id = $1 AND machine_id = $2 ORDER BY day DESC LIMIT 1`,
    [machineId],
  )
  const span = [place.warehouseId, from, to]
  const daysByKind: Record<string, number> = {}
  for (const { kind } of days) daysByKind[kind] = (daysByKind[kind] ?? 0) + 1
  return {
    from,
    to,
    days,
    stripsTotal: newest?.total ?? 0,
    daysByKind,
    closures: await reading.rows(
      `SELECT from_date AS "fromDate", to_date AS "toDate", reason FROM closure
       WHERE organisation_id = $1 AND warehouse_id = $2 AND to_date >= $3 AND from_date <= $4 ORDER BY from_date`,
      span,
    ),
    peaks: await reading.rows(
      `SELECT from_date AS "fromDate", to_date AS "toDate", name, usage_multiplier AS "usageMultiplier" FROM peak
       WHERE organisation_id = $1 AND warehouse_id = $2 AND to_date >= $3 AND from_date <= $4 ORDER BY from_date`,
      span,
    ),
  }
}

type RecordRow = Omit<ServiceRecord, 'workOrder'> & Record<string, unknown> & { orderId: string | null; orderNumber: number | null }

export async function listServiceRecords(
  reading: Reading,
  machineId: string,
  query: Pick<RouteQuery<Routes['machineServiceRecords']>, 'limit' | 'cursor'>,
  only: string | null = null,
): Promise<RouteResult<Routes['machineServiceRecords']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  await placeOf(reading, machineId)
  const rows = await reading.rows<RecordRow>(
    `SELECT r.id, r.service_task_id AS "serviceTaskId", COALESCE(n.name, k.key) AS "taskName", r.done_on AS "doneOn", r.done_at AS "doneAt",
       COALESCE(NULLIF(r.person_name, ''), p.name, '') AS "personName", r.source, r.occurrence_id AS "occurrenceId", r.settles, r.note,
       o.id AS "orderId", o.number AS "orderNumber"
     FROM service_record r JOIN service_task k ON k.organisation_id = r.organisation_id AND k.id = r.service_task_id
     LEFT JOIN LATERAL (SELECT pt.name FROM plan_task pt JOIN service_plan s ON s.organisation_id = pt.organisation_id AND s.id = pt.service_plan_id
       WHERE pt.organisation_id = r.organisation_id AND pt.service_task_id = k.id ORDER BY s.plan_version DESC LIMIT 1) n ON true
     LEFT JOIN person p ON p.organisation_id = r.organisation_id AND p.id = r.person_id
     LEFT JOIN work_order o ON o.organisation_id = r.organisation_id AND o.id = r.work_order_id
     WHERE r.organisation_id = $1 AND r.machine_id = $2 AND ($3::date IS NULL OR (r.done_on, r.id) < ($3, $4::uuid))
       AND ($6::uuid IS NULL OR r.id = $6)
     ORDER BY r.done_on DESC, r.id DESC LIMIT $5`,
    [machineId, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1, only],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.doneOn, row.id],
    ({ orderId, orderNumber, ...row }) => ({ ...row, workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0 } }),
  )
}
