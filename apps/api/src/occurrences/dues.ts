/** What falls due, as a page of it and as counts: read from open occurrences and from forecasts that no occurrence stands for yet. */
import type { SqlValue } from '@tapewarden/persistence'
import type { ComingUpItem, RouteQuery, Routes } from '@tapewarden/shared'
import type { KnownCalendar } from '../use/calendar.js'
import { localDateOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'
import type { DuesForLoad } from './week-loads.js'

/**
 * Open occurrences, whose day governs, and forecasts of which no occurrence is open. In two halves, not as a full join: what
 * is joined to a choice between two columns the server takes for one row. $2 and $3: warehouses, each with its today.
 */
const DUES = `(
    SELECT o.machine_id AS "machineId", o.warehouse_id AS "warehouseId", o.service_task_id AS "serviceTaskId", o.plan_task_id AS "planTaskId",
      o.governing_trigger AS "governingTrigger", o.due_on AS "dueOn", o.hard_limit_on AS "hardLimitOn", o.late_from AS "lateFrom", o.nominal_on AS "nominalOn",
      o.id AS "occurrenceId", o.kind AS "occurrenceKind", o.needs_person AS "needsPerson", ($3::date[])[array_position($2::uuid[], o.warehouse_id)] AS today
    FROM occurrence o WHERE o.organisation_id = $1 AND o.state = 'open'
    UNION ALL
    SELECT f.machine_id, f.warehouse_id, f.service_task_id, f.plan_task_id, f.governing_trigger, f.likely_on, NULL, NULL, NULL, NULL, NULL, false, NULL
    FROM forecast f WHERE f.organisation_id = $1 AND f.likely_on BETWEEN $4 AND $5 AND NOT EXISTS (SELECT 1 FROM occurrence o
      WHERE o.organisation_id = $1 AND o.state = 'open' AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id)
  ) x`
const ASKED = `x."warehouseId" = ANY($2::uuid[]) AND x."dueOn" <= $5 AND ($6::boolean OR x."occurrenceKind" IS NULL OR x."occurrenceKind" <> 'monthly')
    AND ($6::boolean OR x."occurrenceId" IS NOT NULL OR x."governingTrigger" IS DISTINCT FROM 'calendar_month')`
const PLAN_TASK = (of: string): string => `JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = ${of}."planTaskId"`

/** As standingOf says it of one. */
const LATE = `COALESCE(x."lateFrom" <= x.today, false)`
const PAST_NOMINAL = `COALESCE(x."nominalOn" < x.today, false)`
const PAST_HARD_LIMIT = `COALESCE(x."hardLimitOn" < x.today, false)`
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
      ${PAST_HARD_LIMIT} AS "pastHardLimit", count(*) AS count
    FROM ${DUES} WHERE ${ASKED} GROUP BY 1, 2, 3, 4, 5, 6, 7) g
  ${PLAN_TASK('g')}
  GROUP BY 1, 2, 3, 4, 5, 6, 7`

/**
 * Of some days, by day, then by label: to sort the whole would cost more than all else. $14 to $21: groups of which not all fit,
 * each with how many do; those come first by label. Only then is the list kept to what it is asked for.
 */
const BRIEFLY = `SELECT * FROM (
    SELECT x."machineId", m.label_code AS "labelCode", x."warehouseId", x."serviceTaskId", pt.name AS "taskName", pt.minutes, pt.skill, pt.reach,
      pt.safety_check AS "safetyCheck", x."governingTrigger", x."dueOn", x."hardLimitOn", x."occurrenceId", x."occurrenceKind", x."needsPerson",
      ${LATE} AS late, ${doNotUse(SMALL, LATE, PAST_NOMINAL)} AS "doNotUse", ${PAST_HARD_LIMIT} AS "pastHardLimit",
      u.at IS NULL OR u.fitting >= row_number() OVER (PARTITION BY u.at
        ORDER BY CASE WHEN u.at IS NOT NULL THEN m.label_code END, CASE WHEN u.at IS NOT NULL THEN x."serviceTaskId" END) AS fits
    FROM ${DUES} ${PLAN_TASK('x')} JOIN machine m ON m.organisation_id = $1 AND m.id = x."machineId"
    LEFT JOIN unnest($14::uuid[], $15::date[], $16::int[], $17::text[], $18::text[], $19::boolean[], $20::boolean[], $21::int[]) WITH ORDINALITY
      AS u(hall, day, minutes, skill, reach, safety, late, fitting, at)
      ON u.hall = x."warehouseId" AND u.day = x."dueOn" AND u.minutes = pt.minutes AND u.skill = pt.skill AND u.reach = pt.reach
        AND u.safety = pt.safety_check AND u.late = ${LATE}
    WHERE ${ASKED} AND x."dueOn" BETWEEN $9 AND $10
  ) y
  WHERE ($7::text IS NULL OR skill = $7) AND ($8::text IS NULL OR "labelCode" ILIKE $8 OR "taskName" ILIKE $8)
    AND CASE $13::text WHEN 'late' THEN late WHEN 'do_not_use' THEN "doNotUse" WHEN 'past_hard_limit' THEN "pastHardLimit"
      WHEN 'needs_person' THEN "needsPerson" WHEN 'does_not_fit' THEN NOT fits ELSE true END
  ORDER BY "dueOn", "labelCode", "serviceTaskId" OFFSET $11 LIMIT $12`

export interface DueFilter {
  calendars: readonly KnownCalendar[]
  to: string
  from: string
  monthly: boolean
}
export interface DueGroup extends DuesForLoad {
  doNotUse: number
  pastHardLimit: number
}

const given = ({ now }: Reading, { calendars, from, to, monthly }: DueFilter): SqlValue[] => [
  calendars.map(({ id }) => id),
  calendars.map(({ zone }) => localDateOf(now, zone)),
  from,
  to,
  monthly,
]

export const readDueGroups = (reading: Reading, filter: DueFilter): Promise<DueGroup[]> =>
  reading.rows<DueGroup & Record<string, unknown>>(GROUPED, given(reading, filter))

/** Of one due what its group does not say. */
export type Due = Pick<
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
  | 'needsPerson'
  | 'taskName'
  | 'fits'
>
export type BriefRow = Record<string, unknown> & Due & { pastHardLimit: boolean }

/** On which days the rows from `start` on lie, and how many of the first day come before them. */
function daysOf(groups: readonly DueGroup[], start: number, limit: number): { from: string; to: string; offset: number } | null {
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
  return from === '' ? null : { from, to, offset }
}

const LONG_AGO = '0001-01-01'

/** One row more than asked for where there are more. */
export async function pageOfDues(
  reading: Reading,
  query: RouteQuery<Routes['comingUp']>,
  start: number,
  filter: DueFilter,
  groups: readonly DueGroup[],
  fitting: ReadonlyMap<DueGroup, number>,
): Promise<BriefRow[]> {
  const limit = query.limit + 1
  const isKept = query.skill !== undefined || query.search !== undefined || query.only !== undefined
  // Where the list is kept to something, the groups do not say on which days its rows lie.
  const days = isKept ? { from: LONG_AGO, to: filter.to, offset: start } : daysOf(groups, start, limit)
  if (days === null) return []
  const some = [...fitting].filter(([{ count }, fits]) => fits < count)
  const of = <Key extends keyof DueGroup>(key: Key): DueGroup[Key][] => some.map(([group]) => group[key])
  return reading.rows<BriefRow>(BRIEFLY, [
    ...given(reading, filter),
    query.skill ?? null,
    query.search === undefined ? null : `%${query.search.replace(/[\\%_]/g, '\\$&')}%`,
    days.from,
    days.to,
    days.offset,
    limit,
    query.only ?? null,
    of('warehouseId'),
    of('dueOn'),
    of('minutes'),
    of('skill'),
    of('reach'),
    of('safetyCheck'),
    of('late'),
    some.map(([, fits]) => fits),
  ])
}
