/** Entries that disagree: both sides shown, one of them chosen by a person, and that choice kept. */
import { ConflictError, newId, NotFoundError } from '@tapewarden/platform'
import { BELOW_NEVER_BELOW, judgeMeasured, sayMeasured } from '@tapewarden/scheduling'
import type { RouteBody, RouteQuery, RouteResult, Routes, WorkConflict } from '@tapewarden/shared'
import { insertFinding } from '../findings/findings.js'
import { localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Changing, Reading } from '../use/work.js'
import { inMm, limitsOf } from './limits.js'
import { lastMeasured } from './readiness.js'
import { factsOf, sheetOf } from './sheet.js'

type Second = {
  taskId: string
  measurementKey: string
  value: number
  unit: 'mm' | 'in' | 'count'
  enteredText?: string
  whenTaken?: string
}
interface Row extends Record<string, unknown> {
  entryId: string
  receivedAt: string
  workOrderId: string
  number: number
  labelCode: string
  warehouseId: string
  warehouseName: string
  measurementName: string | null
  content: Second
  secondBy: string | null
  secondAt: string
  firstMm: number | null
  firstBy: string | null
  firstAt: string | null
}

/** The first side: the newest value that counts, and who entered it. */
const RECEIVED = "date_trunc('milliseconds', e.received_at)"
const SELECT = `SELECT e.id AS "entryId", ${RECEIVED} AS "receivedAt", o.id AS "workOrderId", o.number, m.label_code AS "labelCode", w.id AS "warehouseId", w.name AS "warehouseName", e.content,
    (SELECT k->>'name' FROM work_order_task x JOIN plan_task pt ON pt.organisation_id = x.organisation_id AND pt.id = x.plan_task_id,
       jsonb_array_elements(pt.measurements) k WHERE x.organisation_id = e.organisation_id AND x.id::text = e.content->>'taskId' AND k->>'key' = e.content->>'measurementKey' LIMIT 1) AS "measurementName",
    p.name AS "secondBy", e.made_at AS "secondAt", f.value_mm AS "firstMm", f.by AS "firstBy", f.at AS "firstAt"
  FROM work_entry e JOIN work_order o ON o.organisation_id = e.organisation_id AND o.id = e.work_order_id
  JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
  JOIN warehouse w ON w.organisation_id = o.organisation_id AND w.id = o.warehouse_id
  LEFT JOIN person p ON p.organisation_id = e.organisation_id AND p.id = e.person_id
  LEFT JOIN LATERAL (SELECT x.value_mm, fp.name AS by, x.created_at AS at FROM measurement x
    LEFT JOIN work_entry fe ON fe.organisation_id = x.organisation_id AND fe.work_order_id = x.work_order_id AND fe.kind = 'measure' AND fe.outcome = 'applied'
      AND fe.content->>'measurementKey' = x.name AND fe.made_at <= x.created_at
    LEFT JOIN person fp ON fp.organisation_id = fe.organisation_id AND fp.id = fe.person_id
    WHERE x.organisation_id = e.organisation_id AND x.work_order_id = e.work_order_id AND x.name = e.content->>'measurementKey' AND x.state = 'counted'
    ORDER BY x.created_at DESC, x.id DESC, fe.made_at DESC LIMIT 1) f ON true
  WHERE e.organisation_id = $1 AND ($2::uuid[] IS NULL OR o.warehouse_id = ANY($2)) AND e.outcome = 'conflict' AND e.settled_at IS NULL`

export async function listConflicts(
  reading: Reading,
  query: RouteQuery<Routes['listWorkConflicts']>,
): Promise<RouteResult<Routes['listWorkConflicts']>> {
  const after = readCursor(query.cursor, ['instant', 'id'])
  const rows = await reading.rows<Row>(
    `${SELECT} AND ($3::timestamptz IS NULL OR (${RECEIVED}, e.id) > ($3, $4::uuid)) ORDER BY ${RECEIVED}, e.id LIMIT $5`,
    [reading.who.warehouseIds, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.receivedAt, row.entryId],
    (row): WorkConflict => ({
      entryId: row.entryId,
      workOrder: { id: row.workOrderId, number: row.number },
      labelCode: row.labelCode,
      warehouse: { id: row.warehouseId, name: row.warehouseName },
      what: row.measurementName ?? row.content.measurementKey,
      first: row.firstMm === null ? null : { valueMm: row.firstMm, byName: row.firstBy, at: row.firstAt ?? row.secondAt },
      second: { valueMm: inMm(row.content), byName: row.secondBy, at: row.secondAt },
    }),
  )
}

/** Once: who comes second to settle it is told so. The value that does not count is kept, set aside with the reason. */
export async function settleConflict(
  changing: Changing,
  workOrderId: string,
  entryId: string,
  body: RouteBody<Routes['settleWorkConflict']>,
): Promise<RouteResult<Routes['settleWorkConflict']>> {
  const facts = await factsOf(changing, workOrderId, true)
  const entry = await changing.maybeOne<{ content: Second; madeAt: string; settled: boolean }>(
    `SELECT content, made_at AS "madeAt", settled_at IS NOT NULL AS settled FROM work_entry
     WHERE organisation_id = $1 AND id = $2 AND work_order_id = $3 AND outcome = 'conflict' FOR UPDATE`,
    [entryId, workOrderId],
  )
  if (!entry) throw new NotFoundError('conflict')
  if (entry.settled) throw new ConflictError('SETTLED', 'This was settled already.')
  if (body.counts === 'second') await letSecondCount(changing, facts, entry.content, new Date(entry.madeAt))
  await changing.run(
    `UPDATE work_entry SET settled_at = $3, settled_by = $4, settled_counts = $5, settled_note = $6 WHERE organisation_id = $1 AND id = $2`,
    [entryId, changing.now, changing.who.name, body.counts, body.note],
  )
  changing.note({ action: 'settle conflict', subjectKind: 'work order', subjectId: workOrderId, after: { entryId, ...body } })
  changing.datesMayMove(facts.order.warehouseId)
  return sheetOf(changing, workOrderId)
}

async function letSecondCount(changing: Changing, facts: Awaited<ReturnType<typeof factsOf>>, second: Second, madeAt: Date): Promise<void> {
  const { order } = facts
  const first = lastMeasured(facts, second.measurementKey)
  const valueMm = inMm(second)
  if (first)
    await changing.run(
      `UPDATE measurement SET state = 'set_aside', set_aside_reason = 'another value counts: settled by a person' WHERE organisation_id = $1 AND id = $2`,
      [first.id],
    )
  await changing.run(
    `INSERT INTO measurement (organisation_id, id, machine_id, component_id, service_record_id, work_order_id, name, value_mm, entered_unit, entered_text, when_taken, measured_on, created_at)
     SELECT $1, $2, $3, f.component_id, f.service_record_id, $4, $5, $6, $7, $8, $9, $10, $11
     FROM (SELECT 1) one LEFT JOIN measurement f ON f.organisation_id = $1 AND f.id = $12`,
    [
      newId(),
      order.machineId,
      order.id,
      second.measurementKey,
      valueMm,
      second.unit === 'in' ? 'in' : 'mm',
      second.enteredText ?? '',
      second.whenTaken ?? 'as_found',
      localDateOf(madeAt, order.zone),
      madeAt,
      first?.id ?? null,
    ],
  )
  const measurement = facts.tasks.find(({ id }) => id === second.taskId)?.measurements.find(({ key }) => key === second.measurementKey)
  if (!measurement) return
  const limits = limitsOf(measurement, order)
  const judged = judgeMeasured(limits, valueMm)
  if (judged === 'within' || limits.opensTaskKey === null) return
  const words = judged === 'below_never_below' ? ` ${BELOW_NEVER_BELOW}` : ' It is at the limit for replacing.'
  await insertFinding(
    changing,
    order.machineId,
    order.machineTypeId,
    {
      text: `${limits.name} ${sayMeasured(valueMm, changing.who.units)}, by a settled conflict.${words}`,
      taskKey: limits.opensTaskKey,
      ...(judged === 'below_never_below' ? { withinDays: 0 } : {}),
      safety: false,
      workOrderId: order.id,
      foundOn: localDateOf(madeAt, order.zone),
    },
    '',
  )
}
