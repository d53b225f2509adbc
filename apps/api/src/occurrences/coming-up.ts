import type { SqlValue } from '@tapewarden/persistence'
import type { ComingUp, ComingUpItem, RouteQuery, Routes } from '@tapewarden/shared'
import { type KnownCalendar, readCalendars } from '../use/calendar.js'
import { localDateOf, mondayOf } from '../use/local-day.js'
import { cursorOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { whySentence } from './explain.js'
import { type DuesForLoad, lastDayOfWeeks, weekLoads } from './week-loads.js'

/**
 * Open occurrences, whose day governs, and forecasts of which no occurrence is open. In two halves, not as a full join: what
 * is joined to a choice between two columns the server takes for one row. $2 and $3: warehouses, each with its today.
 */
const DUES = `(
    SELECT o.machine_id AS "machineId", o.warehouse_id AS "warehouseId", o.service_task_id AS "serviceTaskId", o.plan_task_id AS "planTaskId",
      o.governing_trigger AS "governingTrigger", o.due_on AS "dueOn", o.hard_limit_on AS "hardLimitOn", o.late_from AS "lateFrom", o.nominal_on AS "nominalOn",
      o.id AS "occurrenceId", o.kind AS "occurrenceKind", ($3::date[])[array_position($2::uuid[], o.warehouse_id)] AS today
    FROM occurrence o WHERE o.organisation_id = $1 AND o.state = 'open'
    UNION ALL
    SELECT f.machine_id, f.warehouse_id, f.service_task_id, f.plan_task_id, f.governing_trigger, f.likely_on, NULL, NULL, NULL, NULL, NULL, NULL
    FROM forecast f WHERE f.organisation_id = $1 AND f.likely_on BETWEEN $4 AND $5 AND NOT EXISTS (SELECT 1 FROM occurrence o
      WHERE o.organisation_id = $1 AND o.state = 'open' AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id)
  ) x`
const ASKED = `x."warehouseId" = ANY($2::uuid[]) AND x."dueOn" <= $5 AND ($6::boolean OR x."occurrenceKind" IS NULL OR x."occurrenceKind" <> 'monthly')
    AND ($6::boolean OR x."occurrenceId" IS NOT NULL OR x."governingTrigger" IS DISTINCT FROM 'calendar_month')
    AND ($8::text IS NULL OR x."machineId" IN (SELECT m.id FROM machine m WHERE m.organisation_id = $1 AND m.label_code ILIKE $8))`
const OF_SKILL = `($7::text IS NULL OR pt.skill = $7)`
const PLAN_TASK = (of: string): string => `JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = ${of}."planTaskId"`

/** As standingOf says it of one. */
const LATE = `COALESCE(x."lateFrom" <= x.today, false)`
const PAST_NOMINAL = `COALESCE(x."nominalOn" < x.today, false)`
const SMALL = `COALESCE(x."occurrenceKind" IN ('monthly', 'first_look', 'wake_up'), false)`
const doNotUse = (small: string, late: string, pastNominal: string): string =>
  `(pt.safety_check AND CASE WHEN ${small} THEN ${late} ELSE ${pastNominal} END)`

/**
 * What is alike in all that counting and fitting ask for is one row: a large fleet has tens of thousands in a quarter. First
 * without what the plan says of the task, so that the server need not sort what it can hash.
 */
const GROUPED = `SELECT g."warehouseId", g."dueOn", pt.minutes, pt.skill, pt.reach, pt.safety_check AS "safetyCheck", g.late, sum(g.count)::int AS count,
    COALESCE(sum(g.count) FILTER (WHERE ${doNotUse('g.small', 'g.late', 'g."pastNominal"')}), 0)::int AS "doNotUse",
    COALESCE(sum(g.count) FILTER (WHERE g."pastHardLimit"), 0)::int AS "pastHardLimit"
  FROM (SELECT x."warehouseId", x."planTaskId", x."dueOn", ${LATE} AS late, ${SMALL} AS small, ${PAST_NOMINAL} AS "pastNominal",
      COALESCE(x."hardLimitOn" < x.today, false) AS "pastHardLimit", count(*) AS count
    FROM ${DUES} WHERE ${ASKED} GROUP BY 1, 2, 3, 4, 5, 6, 7) g
  ${PLAN_TASK('g')} WHERE ${OF_SKILL}
  GROUP BY 1, 2, 3, 4, 5, 6, 7`

const WITH_LABELS = `FROM ${DUES} ${PLAN_TASK('x')} JOIN machine m ON m.organisation_id = $1 AND m.id = x."machineId"
  WHERE ${ASKED} AND ${OF_SKILL}`

/** Of some days, by day, then by label: to sort the whole would cost more than all else. */
const BRIEFLY = `SELECT x."machineId", m.label_code AS "labelCode", x."warehouseId", x."serviceTaskId", pt.minutes, pt.skill, pt.reach, pt.safety_check AS "safetyCheck",
    x."governingTrigger", x."dueOn", x."hardLimitOn", x."occurrenceId", x."occurrenceKind", ${LATE} AS late, ${doNotUse(SMALL, LATE, PAST_NOMINAL)} AS "doNotUse"
  ${WITH_LABELS} AND x."dueOn" BETWEEN $9 AND $10
  ORDER BY x."dueOn", m.label_code, x."serviceTaskId" OFFSET $11 LIMIT $12`

/** The first of one group, by label. */
const FIRST_OF_GROUP = `SELECT x."machineId", x."serviceTaskId" ${WITH_LABELS}
    AND x."warehouseId" = $9 AND x."dueOn" = $10 AND pt.minutes = $11 AND pt.skill = $12 AND pt.reach = $13 AND pt.safety_check = $14 AND ${LATE} = $15
  ORDER BY m.label_code, x."serviceTaskId" LIMIT $16`

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
  calendars: readonly KnownCalendar[]
  to: string
  from: string
  monthly: boolean
  skill?: string | undefined
  search?: string | undefined
}
export interface DueGroup extends DuesForLoad {
  doNotUse: number
  pastHardLimit: number
}

const given = ({ now }: Reading, { calendars, from, to, monthly, skill, search }: DueFilter): SqlValue[] => [
  calendars.map(({ id }) => id),
  calendars.map(({ zone }) => localDateOf(now, zone)),
  from,
  to,
  monthly,
  skill ?? null,
  search === undefined ? null : `%${search.replace(/[\\%_]/g, '\\$&')}%`,
]

export const readDueGroups = (reading: Reading, filter: DueFilter): Promise<DueGroup[]> =>
  reading.rows<DueGroup & Record<string, unknown>>(GROUPED, given(reading, filter))

/** Of one due what its group does not say. */
type Due = Pick<
  ComingUpItem,
  | 'machineId'
  | 'labelCode'
  | 'warehouseId'
  | 'serviceTaskId'
  | 'minutes'
  | 'skill'
  | 'reach'
  | 'safetyCheck'
  | 'governingTrigger'
  | 'dueOn'
  | 'hardLimitOn'
  | 'occurrenceId'
  | 'occurrenceKind'
  | 'late'
  | 'doNotUse'
>
type BriefRow = Record<string, unknown> & Due

type FullRow = Record<string, unknown> &
  Omit<ComingUpItem, keyof Due | 'fits' | 'why' | 'workOrder'> & {
    basis: Record<string, unknown>
    reason: string | null
    orderId: string | null
    orderNumber: number | null
    orderState: string | null
  }

/** All that a page says of some dues, in their order. */
async function itemsOf(reading: Reading, page: readonly BriefRow[], fits: (due: BriefRow) => boolean): Promise<ComingUpItem[]> {
  if (page.length === 0) return []
  const rows = await reading.rows<FullRow & { place: string }>(IN_FULL, [
    page.map(({ machineId }) => machineId),
    page.map(({ serviceTaskId }) => serviceTaskId),
    page.map(({ occurrenceId }) => occurrenceId),
  ])
  return rows.map(({ place, basis, reason, orderId, orderNumber, orderState, ...rest }) => {
    const due = page[Number(place) - 1] as BriefRow
    return {
      ...due,
      ...rest,
      fits: fits(due),
      why: whySentence({ ...due, ...rest, governing: due.governingTrigger, reason, basis }),
      workOrder: orderId === null ? null : { id: orderId, number: orderNumber ?? 0, state: orderState ?? '' },
    }
  })
}

/** A page of dues; the groups say on which days it lies. */
async function pageOfDues(
  reading: Reading,
  filter: DueFilter,
  groups: readonly DueGroup[],
  start: number,
  limit: number,
): Promise<BriefRow[]> {
  const byDay = new Map<string, number>()
  for (const { dueOn, count } of groups) byDay.set(dueOn, (byDay.get(dueOn) ?? 0) + count)
  let [before, from, offset, to] = [0, '', 0, '']
  for (const [day, count] of [...byDay].sort(([a], [b]) => (a < b ? -1 : 1))) {
    if (before >= start + limit) break
    if (before + count > start) {
      if (from === '') [from, offset] = [day, start - before]
      to = day
    }
    before += count
  }
  return from === '' ? [] : reading.rows<BriefRow>(BRIEFLY, [...given(reading, filter), from, to, offset, limit])
}

type InGroup = Pick<Due, 'warehouseId' | 'dueOn' | 'minutes' | 'skill' | 'reach' | 'safetyCheck' | 'late'>
const groupKey = (of: InGroup): string => [of.warehouseId, of.dueOn, of.minutes, of.skill, of.reach, of.safetyCheck, of.late].join()

/** Of a group of which some fit, those that come first by label do. */
async function fitsBy(
  reading: Reading,
  filter: DueFilter,
  fitting: ReadonlyMap<DueGroup, number>,
  page: readonly BriefRow[],
): Promise<(due: BriefRow) => boolean> {
  const asked = new Set(page.map(groupKey))
  const first = new Map<string, Set<string>>()
  for (const [group, count] of fitting) {
    const key = groupKey(group)
    if (count === group.count || !asked.has(key)) continue
    const { warehouseId, dueOn, minutes, skill, reach, safetyCheck, late } = group
    const those: SqlValue[] = [warehouseId, dueOn, minutes, skill, reach, safetyCheck, late, count]
    const rows = count === 0 ? [] : await reading.rows<BriefRow>(FIRST_OF_GROUP, [...given(reading, filter), ...those])
    first.set(key, new Set(rows.map(({ machineId, serviceTaskId }) => `${machineId} ${serviceTaskId}`)))
  }
  return (due) => first.get(groupKey(due))?.has(`${due.machineId} ${due.serviceTaskId}`) ?? true
}

export async function comingUp(reading: Reading, query: RouteQuery<Routes['comingUp']>): Promise<ComingUp> {
  const reach = query.warehouseId === undefined ? reading.who.warehouseIds : withinReach(reading.who.warehouseIds, query.warehouseId)
  const calendars = await readCalendars(reading, reach)
  const todays = calendars.map(({ zone }) => localDateOf(reading.now, zone)).sort()
  const from = mondayOf(query.from ?? todays[0] ?? localDateOf(reading.now, 'UTC'))
  const to = lastDayOfWeeks(from, query.weeks)
  const start = Number(readCursor(query.cursor, ['number'])?.[0] ?? 0)
  // What the hours hold is told of all that falls due, whatever is looked for in the list.
  const all = { calendars, from, to, monthly: query.monthly === 'true' }
  const filter = { ...all, skill: query.skill, search: query.search }
  const groups = await readDueGroups(reading, all)
  const listed = query.skill === undefined && query.search === undefined ? groups : await readDueGroups(reading, filter)
  const weeks = calendars.map((known) => weekLoads(known, localDateOf(reading.now, known.zone), from, query.weeks, groups))
  const fitting = new Map(weeks.flatMap((week) => [...week.fitting]))
  const page = await pageOfDues(reading, filter, listed, start, query.limit)
  const total = listed.reduce((sum, { count }) => sum + count, 0)
  return {
    from,
    to,
    warehouses: calendars.map((known, index) => ({
      id: known.id,
      name: known.name,
      today: localDateOf(reading.now, known.zone),
      weeks: weeks[index]?.loads ?? [],
    })),
    items: await itemsOf(reading, page, await fitsBy(reading, all, fitting, page)),
    nextCursor: start + query.limit < total ? cursorOf([start + query.limit]) : null,
  }
}

function withinReach(reach: readonly string[] | null, warehouseId: string): string[] {
  return reach === null || reach.includes(warehouseId) ? [warehouseId] : []
}
