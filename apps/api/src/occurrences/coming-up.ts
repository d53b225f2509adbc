import type { ComingUp, ComingUpItem, RouteQuery, Routes } from '@tapewarden/shared'
import { readCalendars } from '../use/calendar.js'
import { localDateOf, mondayOf } from '../use/local-day.js'
import { cursorOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { whySentence } from './explain.js'
import { standingOf } from './occurrence-reads.js'
import { type DueForLoad, lastDayOfWeeks, weekLoads } from './week-loads.js'

/** What counting and fitting need of what falls due: a large fleet has tens of thousands in a quarter, of which a page shows fifty. */
export interface Due extends DueForLoad {
  machineId: string
  serviceTaskId: string
  dueOn: string
  hardLimitOn: string | null
  governingTrigger: string | null
  occurrenceId: string | null
  occurrenceKind: ComingUpItem['occurrenceKind']
  doNotUse: boolean
}

/**
 * Open occurrences, whose day governs, and forecasts of which no occurrence is open. In two halves, not as a full join: what
 * is joined to a choice between two columns the server takes for one row.
 */
const BRIEFLY = `SELECT x."machineId", m.label_code AS "labelCode", x."warehouseId", w.zone, x."serviceTaskId", pt.minutes, pt.skill, pt.reach, pt.safety_check AS "safetyCheck",
    x."governingTrigger", x."dueOn", x."hardLimitOn", x."lateFrom", x."nominalOn", x."occurrenceId", x."occurrenceKind"
  FROM (
    SELECT o.machine_id AS "machineId", o.warehouse_id AS "warehouseId", o.service_task_id AS "serviceTaskId", o.plan_task_id AS "planTaskId",
      o.governing_trigger AS "governingTrigger", o.due_on AS "dueOn", o.hard_limit_on AS "hardLimitOn", o.late_from AS "lateFrom", o.nominal_on AS "nominalOn",
      o.id AS "occurrenceId", o.kind AS "occurrenceKind"
    FROM occurrence o WHERE o.organisation_id = $1 AND o.state = 'open'
    UNION ALL
    SELECT f.machine_id, f.warehouse_id, f.service_task_id, f.plan_task_id, f.governing_trigger, f.likely_on, NULL, NULL, NULL, NULL, NULL
    FROM forecast f WHERE f.organisation_id = $1 AND NOT EXISTS (SELECT 1 FROM occurrence o
      WHERE o.organisation_id = $1 AND o.state = 'open' AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id)
  ) x
  JOIN machine m ON m.organisation_id = $1 AND m.id = x."machineId"
  JOIN warehouse w ON w.organisation_id = $1 AND w.id = x."warehouseId"
  JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = x."planTaskId"
  WHERE ($2::uuid[] IS NULL OR x."warehouseId" = ANY($2)) AND x."dueOn" <= $3 AND ($4::boolean OR x."occurrenceKind" IS NULL OR x."occurrenceKind" <> 'monthly')
    AND ($4::boolean OR x."occurrenceId" IS NOT NULL OR x."governingTrigger" IS DISTINCT FROM 'calendar_month')
    AND ($5::text IS NULL OR pt.skill = $5) AND ($6::text IS NULL OR m.label_code ILIKE $6)
    AND (x."occurrenceId" IS NOT NULL OR x."dueOn" >= $7)
  ORDER BY x."dueOn", m.label_code, x."serviceTaskId"`

const IN_FULL = `SELECT asked.place, mt.name AS "machineTypeName", s.name AS "stationName", COALESCE(s.line, '') AS line, k.key AS "taskKey", pt.name AS "taskName",
    COALESCE(f.state, 'dated') AS state, f.early_on AS "earlyOn", f.likely_on AS "likelyOn", f.late_on AS "lateOn", f.no_later_than AS "noLaterThan",
    o.window_to AS "windowTo", COALESCE(o.needs_person, false) AS "needsPerson", COALESCE(o.basis, f.basis) AS basis, CASE WHEN o.id IS NULL THEN f.reason END AS reason,
    wo.id AS "orderId", wo.number AS "orderNumber", wo.state AS "orderState"
  FROM unnest($2::uuid[], $3::uuid[], $4::uuid[]) WITH ORDINALITY AS asked(machine_id, service_task_id, occurrence_id, place)
  LEFT JOIN occurrence o ON o.organisation_id = $1 AND o.id = asked.occurrence_id
  LEFT JOIN forecast f ON f.organisation_id = $1 AND f.machine_id = asked.machine_id AND f.service_task_id = asked.service_task_id
  JOIN machine m ON m.organisation_id = $1 AND m.id = asked.machine_id
  JOIN machine_type mt ON mt.organisation_id = $1 AND mt.id = m.machine_type_id
  JOIN service_task k ON k.organisation_id = $1 AND k.id = asked.service_task_id
  JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = COALESCE(o.plan_task_id, f.plan_task_id)
  LEFT JOIN placement p ON p.organisation_id = $1 AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN station s ON s.organisation_id = $1 AND s.id = p.station_id
  LEFT JOIN LATERAL (SELECT y.id, y.number, y.state FROM work_order_task t JOIN work_order y ON y.organisation_id = t.organisation_id AND y.id = t.work_order_id
    WHERE t.organisation_id = $1 AND t.occurrence_id = o.id AND y.state <> 'cancelled' ORDER BY y.number DESC LIMIT 1) wo ON true
  ORDER BY asked.place`

export interface DueFilter {
  warehouseIds: readonly string[] | null
  to: string
  from: string
  monthly: boolean
  skill?: string | undefined
  search?: string | undefined
}

type BriefRow = Record<string, unknown> &
  Omit<Due, 'late' | 'doNotUse'> & { zone: string; lateFrom: string | null; nominalOn: string | null }

/** By day, then by label. */
export async function readDues(reading: Reading, filter: DueFilter): Promise<Due[]> {
  const rows = await reading.rows<BriefRow>(BRIEFLY, [
    filter.warehouseIds,
    filter.to,
    filter.monthly,
    filter.skill ?? null,
    filter.search === undefined ? null : `%${filter.search.replace(/[\\%_]/g, '\\$&')}%`,
    filter.from,
  ])
  const todays = new Map([...new Set(rows.map(({ zone }) => zone))].map((zone) => [zone, localDateOf(reading.now, zone)]))
  return rows.map(({ zone, lateFrom, nominalOn, ...due }): Due => {
    const { occurrenceKind, hardLimitOn, safetyCheck } = due
    const standing = { state: due.occurrenceId === null ? 'none' : 'open', kind: occurrenceKind ?? '', nominalOn: nominalOn ?? '' }
    const { late, doNotUse } = standingOf({ ...standing, lateFrom, hardLimitOn, safetyCheck }, todays.get(zone) as string)
    return { ...due, late, doNotUse }
  })
}

type FullRow = Record<string, unknown> &
  Omit<ComingUpItem, keyof Due | 'fits' | 'why' | 'workOrder'> & {
    basis: Record<string, unknown>
    reason: string | null
    orderId: string | null
    orderNumber: number | null
    orderState: string | null
  }

/** All that a page says of some dues, in their order. */
async function itemsOf(reading: Reading, dues: readonly Due[], unfit: ReadonlySet<Due>): Promise<ComingUpItem[]> {
  if (dues.length === 0) return []
  const rows = await reading.rows<FullRow & { place: string }>(IN_FULL, [
    dues.map(({ machineId }) => machineId),
    dues.map(({ serviceTaskId }) => serviceTaskId),
    dues.map(({ occurrenceId }) => occurrenceId),
  ])
  return rows.map(({ place, basis, reason, orderId, orderNumber, orderState, ...rest }) => {
    const due = dues[Number(place) - 1] as Due
    return {
      ...due,
      ...rest,
      fits: !unfit.has(due),
      why: whySentence({ ...due, ...rest, governing: due.governingTrigger, reason, basis }),
      workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0, state: orderState ?? '' },
    }
  })
}

export async function comingUp(reading: Reading, query: RouteQuery<Routes['comingUp']>): Promise<ComingUp> {
  const reach = query.warehouseId === undefined ? reading.who.warehouseIds : withinReach(reading.who.warehouseIds, query.warehouseId)
  const calendars = await readCalendars(reading, reach)
  const todays = calendars.map(({ zone }) => localDateOf(reading.now, zone)).sort()
  const from = mondayOf(query.from ?? todays[0] ?? localDateOf(reading.now, 'UTC'))
  const to = lastDayOfWeeks(from, query.weeks)
  const after = readCursor(query.cursor, ['number'])
  const dues = await readDues(reading, {
    warehouseIds: reach,
    from,
    to,
    monthly: query.monthly === 'true',
    skill: query.skill,
    search: query.search,
  })
  const weeks = calendars.map((known) => weekLoads(known, localDateOf(reading.now, known.zone), from, query.weeks, dues))
  const start = Number(after?.[0] ?? 0)
  const unfit = new Set(weeks.flatMap((week) => [...week.unfit]))
  return {
    from,
    to,
    warehouses: calendars.map((known, index) => ({
      id: known.id,
      name: known.name,
      today: localDateOf(reading.now, known.zone),
      weeks: weeks[index]?.loads ?? [],
    })),
    items: await itemsOf(reading, dues.slice(start, start + query.limit), unfit),
    nextCursor: start + query.limit < dues.length ? cursorOf([start + query.limit]) : null,
  }
}

function withinReach(reach: readonly string[] | null, warehouseId: string): string[] {
  return reach === null || reach.includes(warehouseId) ? [warehouseId] : []
}
