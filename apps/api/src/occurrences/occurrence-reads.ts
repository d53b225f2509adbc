import type { Occurrence, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { whySentence } from './explain.js'

export type OccurrenceRow = Omit<Occurrence, 'late' | 'pastHardLimit' | 'doNotUse' | 'why' | 'workOrder'> &
  Record<string, unknown> & { zone: string; orderId: string | null; orderNumber: number | null; orderState: string | null }

/** The work order shown is the newest that is not cancelled. */
const FIELDS = `o.id, o.machine_id AS "machineId", m.label_code AS "labelCode", o.warehouse_id AS "warehouseId", w.zone,
    o.service_task_id AS "serviceTaskId", o.plan_task_id AS "planTaskId", k.key AS "taskKey", pt.name AS "taskName", pt.minutes, pt.skill, pt.reach,
    pt.safety_check AS "safetyCheck", o.sequence, o.kind, o.state, o.opened_on AS "openedOn", o.nominal_on AS "nominalOn", o.window_from AS "windowFrom",
    o.window_to AS "windowTo", o.hard_limit_on AS "hardLimitOn", o.due_on AS "dueOn", o.late_from AS "lateFrom", o.needs_person AS "needsPerson",
    o.governing_trigger AS "governingTrigger", o.basis, o.said_on AS "saidOn", o.ended_on AS "endedOn", o.end_reason AS "endReason", o.done_on AS "doneOn",
    d.name AS "doneByName", o.counted_as_missed AS "countedAsMissed", o.version, wo.id AS "orderId", wo.number AS "orderNumber", wo.state AS "orderState"`
const NAMED = `JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
  JOIN warehouse w ON w.organisation_id = o.organisation_id AND w.id = o.warehouse_id
  JOIN service_task k ON k.organisation_id = o.organisation_id AND k.id = o.service_task_id
  JOIN plan_task pt ON pt.organisation_id = o.organisation_id AND pt.id = o.plan_task_id
  LEFT JOIN person d ON d.organisation_id = o.organisation_id AND d.id = o.done_by
  LEFT JOIN LATERAL (SELECT x.id, x.number, x.state FROM work_order_task t JOIN work_order x ON x.organisation_id = t.organisation_id AND x.id = t.work_order_id
    WHERE t.organisation_id = o.organisation_id AND t.occurrence_id = o.id AND x.state <> 'cancelled' ORDER BY x.number DESC LIMIT 1) wo ON true`
/** $2: the warehouses in reach. */
const IN_REACH = `o.organisation_id = $1 AND ($2::uuid[] IS NULL OR o.warehouse_id = ANY($2))`
const machineIs = (what: string): string => `o.machine_id IN (SELECT m.id FROM machine m WHERE m.organisation_id = $1 AND ${what})`

interface Standing {
  state: string
  kind: string
  lateFrom: string | null
  hardLimitOn: string | null
  safetyCheck: boolean
  nominalOn: string
}

/** Late, past the limit, not to be used: all by the warehouse's own today. Rule 7 for the last one. */
export function standingOf(row: Standing, today: string): { late: boolean; pastHardLimit: boolean; doNotUse: boolean } {
  const open = row.state === 'open'
  const late = open && row.lateFrom !== null && row.lateFrom <= today
  const monthly = row.kind === 'monthly' || row.kind === 'first_look' || row.kind === 'wake_up'
  return {
    late,
    pastHardLimit: open && row.hardLimitOn !== null && row.hardLimitOn < today,
    doNotUse: open && row.safetyCheck && (monthly ? late : row.nominalOn < today),
  }
}

export function occurrenceOf(row: OccurrenceRow, { now, who }: Pick<Reading, 'now' | 'who'>): Occurrence {
  const { zone, orderId, orderNumber, orderState, ...rest } = row
  return {
    ...rest,
    ...standingOf(row, localDateOf(now, zone)),
    why: whySentence({ governing: row.governingTrigger, state: 'dated', reason: null, basis: row.basis, likelyOn: row.nominalOn }, who),
    workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0, state: orderState ?? '' },
  }
}

export async function listOccurrences(
  reading: Reading,
  query: RouteQuery<Routes['listOccurrences']>,
): Promise<RouteResult<Routes['listOccurrences']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  const rows = await reading.rows<OccurrenceRow>(
    `WITH o AS (SELECT o.* FROM occurrence o WHERE ${IN_REACH} AND ($3::uuid IS NULL OR o.warehouse_id = $3) AND ($4::uuid IS NULL OR o.machine_id = $4)
       AND ($5::text[] IS NULL OR o.state = ANY($5)) AND ($6::date IS NULL OR o.due_on <= $6)
       AND ($7::text IS NULL OR ${machineIs('m.label_code ILIKE $7')})
       AND ($11::uuid IS NULL OR ${machineIs('m.machine_type_id = $11')}) AND ($12::date IS NULL OR o.ended_on >= $12) AND ($13::date IS NULL OR o.ended_on <= $13)
       AND ($14::boolean IS NULL OR (o.state = 'done' OR o.counted_as_missed) = $14)
       AND ($8::date IS NULL OR (o.due_on, o.id) > ($8, $9::uuid))
     ORDER BY o.due_on, o.id LIMIT $10)
     SELECT ${FIELDS} FROM o ${NAMED} ORDER BY o.due_on, o.id`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.machineId ?? null,
      query.state ?? null,
      query.dueTo ?? null,
      query.search === undefined ? null : `%${query.search.replace(/[\\%_]/g, '\\$&')}%`,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
      query.machineTypeId ?? null,
      query.endedFrom ?? null,
      query.endedTo ?? null,
      query.judged ?? null,
    ],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.dueOn, row.id],
    (row) => occurrenceOf(row, reading),
  )
}

export async function getOccurrence(reading: Reading, occurrenceId: string): Promise<Occurrence> {
  const row = await reading.one<OccurrenceRow>(
    'occurrence',
    `SELECT ${FIELDS} FROM occurrence o ${NAMED} WHERE ${IN_REACH} AND o.id = $3`,
    [reading.who.warehouseIds, occurrenceId],
  )
  return occurrenceOf(row, reading)
}
