import type { ComingUp, ComingUpItem, RouteQuery, Routes, Skill } from '@tapewarden/shared'
import { readCalendars } from '../use/calendar.js'
import { localDateOf, mondayOf } from '../use/local-day.js'
import { cursorOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { whySentence } from './explain.js'
import { standingOf } from './occurrence-reads.js'
import { lastDayOfWeeks, weekLoads } from './week-loads.js'

export type DueRow = Record<string, unknown> &
  Omit<ComingUpItem, 'late' | 'doNotUse' | 'fits' | 'why' | 'workOrder'> & {
    zone: string
    lateFrom: string | null
    nominalOn: string | null
    basis: Record<string, unknown>
    reason: string | null
    skill: Skill
    orderId: string | null
    orderNumber: number | null
    orderState: string | null
  }

/** Forecasts with the open occurrence where there is one: its day governs; and open occurrences without a dated forecast. */
const DUES = `SELECT x."machineId", m.label_code AS "labelCode", mt.name AS "machineTypeName", x."warehouseId", w.zone, s.name AS "stationName", COALESCE(s.line, '') AS line,
    x."serviceTaskId", k.key AS "taskKey", pt.name AS "taskName", pt.minutes, pt.skill, pt.reach, pt.safety_check AS "safetyCheck",
    x.state, x."earlyOn", x."likelyOn", x."lateOn", x."noLaterThan", x."governingTrigger", x."dueOn", x."windowTo", x."hardLimitOn", x."lateFrom", x."nominalOn",
    x."needsPerson", x.basis, x.reason, x."occurrenceId", x."occurrenceKind", wo.id AS "orderId", wo.number AS "orderNumber", wo.state AS "orderState"
  FROM (
    SELECT COALESCE(o.machine_id, f.machine_id) AS "machineId", COALESCE(o.warehouse_id, f.warehouse_id) AS "warehouseId",
      COALESCE(o.service_task_id, f.service_task_id) AS "serviceTaskId", COALESCE(o.plan_task_id, f.plan_task_id) AS "planTaskId",
      COALESCE(f.state, 'dated') AS state, f.early_on AS "earlyOn", f.likely_on AS "likelyOn", f.late_on AS "lateOn", f.no_later_than AS "noLaterThan",
      COALESCE(o.governing_trigger, f.governing_trigger) AS "governingTrigger", COALESCE(o.due_on, f.likely_on) AS "dueOn", o.window_to AS "windowTo",
      o.hard_limit_on AS "hardLimitOn", o.late_from AS "lateFrom", o.nominal_on AS "nominalOn", COALESCE(o.needs_person, false) AS "needsPerson",
      COALESCE(o.basis, f.basis) AS basis, CASE WHEN o.id IS NULL THEN f.reason END AS reason, o.id AS "occurrenceId", o.kind AS "occurrenceKind"
    FROM (SELECT * FROM forecast WHERE organisation_id = $1) f
    FULL JOIN (SELECT * FROM occurrence WHERE organisation_id = $1 AND state = 'open') o
      ON o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id
  ) x
  JOIN machine m ON m.organisation_id = $1 AND m.id = x."machineId"
  JOIN machine_type mt ON mt.organisation_id = $1 AND mt.id = m.machine_type_id
  JOIN warehouse w ON w.organisation_id = $1 AND w.id = x."warehouseId"
  JOIN service_task k ON k.organisation_id = $1 AND k.id = x."serviceTaskId"
  JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = x."planTaskId"
  LEFT JOIN placement p ON p.organisation_id = $1 AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN station s ON s.organisation_id = $1 AND s.id = p.station_id
  LEFT JOIN LATERAL (SELECT y.id, y.number, y.state FROM work_order_task t JOIN work_order y ON y.organisation_id = t.organisation_id AND y.id = t.work_order_id
    WHERE t.organisation_id = $1 AND t.occurrence_id = x."occurrenceId" AND y.state <> 'cancelled' ORDER BY y.number DESC LIMIT 1) wo ON true
  WHERE ($2::uuid[] IS NULL OR x."warehouseId" = ANY($2)) AND x."dueOn" <= $3 AND ($4::boolean OR x."occurrenceKind" IS NULL OR x."occurrenceKind" <> 'monthly')
    AND ($4::boolean OR x."occurrenceId" IS NOT NULL OR x."governingTrigger" IS DISTINCT FROM 'calendar_month')
    AND ($5::text IS NULL OR pt.skill = $5) AND ($6::text IS NULL OR m.label_code ILIKE $6)
    AND (x."occurrenceId" IS NOT NULL OR x."dueOn" >= $7)`

export interface DueFilter {
  warehouseIds: readonly string[] | null
  to: string
  from: string
  monthly: boolean
  skill?: string | undefined
  search?: string | undefined
}

export function readDues(reading: Reading, filter: DueFilter): Promise<DueRow[]> {
  return reading.rows<DueRow>(`${DUES} ORDER BY x."dueOn", m.label_code, x."serviceTaskId"`, [
    filter.warehouseIds,
    filter.to,
    filter.monthly,
    filter.skill ?? null,
    filter.search === undefined ? null : `%${filter.search.replace(/[\\%_]/g, '\\$&')}%`,
    filter.from,
  ])
}

export function itemOf(row: DueRow, now: Date): ComingUpItem {
  const { zone, lateFrom, nominalOn, basis, reason, orderId, orderNumber, orderState, ...rest } = row
  const open = row.occurrenceId !== null
  const standing = standingOf(
    {
      state: open ? 'open' : 'none',
      kind: row.occurrenceKind ?? '',
      lateFrom,
      hardLimitOn: row.hardLimitOn,
      safetyCheck: row.safetyCheck,
      nominalOn: nominalOn ?? '',
    },
    localDateOf(now, zone),
  )
  return {
    ...rest,
    late: standing.late,
    doNotUse: standing.doNotUse,
    fits: true,
    why: whySentence({ ...row, governing: row.governingTrigger, reason, basis }),
    workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0, state: orderState ?? '' },
  }
}

export async function comingUp(reading: Reading, query: RouteQuery<Routes['comingUp']>): Promise<ComingUp> {
  const reach = query.warehouseId === undefined ? reading.who.warehouseIds : withinReach(reading.who.warehouseIds, query.warehouseId)
  const calendars = await readCalendars(reading, reach)
  const todays = calendars.map(({ zone }) => localDateOf(reading.now, zone)).sort()
  const from = mondayOf(query.from ?? todays[0] ?? localDateOf(reading.now, 'UTC'))
  const to = lastDayOfWeeks(from, query.weeks)
  const after = readCursor(query.cursor, ['number'])
  const rows = await readDues(reading, {
    warehouseIds: reach,
    from,
    to,
    monthly: query.monthly === 'true',
    skill: query.skill,
    search: query.search,
  })
  const items = rows.map((row) => itemOf(row, reading.now))
  const weeks = calendars.map((known) => weekLoads(known, localDateOf(reading.now, known.zone), from, query.weeks, items))
  for (const { unfit } of weeks) for (const item of unfit) item.fits = false
  const start = Number(after?.[0] ?? 0)
  const page = items.slice(start, start + query.limit)
  return {
    from,
    to,
    warehouses: calendars.map((known, index) => ({
      id: known.id,
      name: known.name,
      today: localDateOf(reading.now, known.zone),
      weeks: weeks[index]?.loads ?? [],
    })),
    items: page,
    nextCursor: start + query.limit < items.length ? cursorOf([start + query.limit]) : null,
  }
}

function withinReach(reach: readonly string[] | null, warehouseId: string): string[] {
  return reach === null || reach.includes(warehouseId) ? [warehouseId] : []
}
