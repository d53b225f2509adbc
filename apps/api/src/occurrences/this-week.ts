import type { RouteResult, Routes, ThisWeek } from '@tapewarden/shared'
import { WAITS_FOR_A_PERSON } from '../findings/findings.js'
import { readCalendars } from '../use/calendar.js'
import { addDays, localDateOf, mondayOf } from '../use/local-day.js'
import type { Reading } from '../use/work.js'
import { type DueGroup, readDueGroups } from './dues.js'
import { lastDayOfWeeks, weekLoads } from './week-loads.js'

const WEEKS_SHOWN = 8
type Sentence = ThisWeek['warehouses'][number]['sentences'][number]

interface CountsRow extends Record<string, unknown> {
  id: string
  setAside: number
  openStoppages: number
  needsPerson: number
  toLookOver: number
  underWay: number
  conflicts: number
  findings: number
  ordersOfGone: number
}

const COUNTS = `SELECT w.id,
    (SELECT count(*)::int FROM evidence e WHERE e.organisation_id = $1 AND e.warehouse_id = w.id AND e.state = 'set_aside') AS "setAside",
    (SELECT count(*)::int FROM stoppage s WHERE s.organisation_id = $1 AND s.warehouse_id = w.id AND s.back_in_use_at IS NULL) AS "openStoppages",
    (SELECT count(*)::int FROM occurrence o WHERE o.organisation_id = $1 AND o.warehouse_id = w.id AND o.state = 'open' AND o.needs_person) AS "needsPerson",
    (SELECT count(*)::int FROM work_order o WHERE o.organisation_id = $1 AND o.warehouse_id = w.id AND o.state = 'done') AS "toLookOver",
    (SELECT count(*)::int FROM work_order o WHERE o.organisation_id = $1 AND o.warehouse_id = w.id AND o.state IN ('under_way', 'waiting')) AS "underWay",
    (SELECT count(*)::int FROM work_order o JOIN person t ON t.organisation_id = o.organisation_id AND t.id = o.technician_id
      WHERE o.organisation_id = $1 AND o.warehouse_id = w.id AND o.state IN ('issued', 'accepted', 'under_way', 'waiting', 'returned')
        AND (t.disabled_at IS NOT NULL OR t.role NOT IN ('administrator', 'manager')
          AND NOT EXISTS (SELECT 1 FROM person_warehouse s WHERE s.organisation_id = $1 AND s.person_id = t.id AND s.warehouse_id = w.id))) AS "ordersOfGone",
    (SELECT count(*)::int FROM work_entry x JOIN work_order o ON o.organisation_id = x.organisation_id AND o.id = x.work_order_id
      WHERE x.organisation_id = $1 AND o.warehouse_id = w.id AND x.outcome = 'conflict' AND x.settled_at IS NULL) AS conflicts,
    (SELECT count(*)::int FROM finding f JOIN placement p ON p.organisation_id = f.organisation_id AND p.machine_id = f.machine_id AND p.to_at IS NULL
      WHERE f.organisation_id = $1 AND p.warehouse_id = w.id AND ${WAITS_FOR_A_PERSON}) AS findings
  FROM warehouse w WHERE w.organisation_id = $1 AND ($2::uuid[] IS NULL OR w.id = ANY($2))`

interface MonthlyRow extends Record<string, unknown> {
  id: string
  machines: number
  doNotUse: number
}

/** Small care of the month is counted by the server: a large fleet has tens of thousands of them, and no week's hours are filled by it. */
const MONTHLY = `SELECT w.id, count(DISTINCT o.machine_id)::int AS machines, (count(*) FILTER (WHERE pt.safety_check AND o.late_from <= w.today))::int AS "doNotUse"
  FROM unnest($2::uuid[], $3::date[]) AS w(id, today)
  JOIN occurrence o ON o.organisation_id = $1 AND o.warehouse_id = w.id AND o.state = 'open' AND o.kind = 'monthly' AND o.due_on <= $4
  JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = o.plan_task_id
  GROUP BY w.id`

function counted(count: number, one: string, many: string): string {
  return `${count} ${count === 1 ? one : many}`
}

interface Items {
  late: number
  doNotUse: number
  pastHardLimit: number
  dueThisWeek: number
  monthlyMachines: number
}

/** Three to six sentences, the gravest first; what is not the case is not said. */
function sentencesOf(items: Items, counts: CountsRow): Sentence[] {
  const all: Sentence[] = [
    {
      kind: 'do_not_use',
      count: items.doNotUse,
      text: `${counted(items.doNotUse, 'safety check is', 'safety checks are')} past the day: do not use until checked, or as your site's rules say.`,
    },
    {
      kind: 'past_hard_limit',
      count: items.pastHardLimit,
      text: `${counted(items.pastHardLimit, 'task is', 'tasks are')} past the hard limit.`,
    },
    {
      kind: 'open_stoppages',
      count: counts.openStoppages,
      text: `${counted(counts.openStoppages, 'machine is', 'machines are')} stopped now.`,
    },
    { kind: 'late', count: items.late, text: `${counted(items.late, 'task is', 'tasks are')} late.` },
    { kind: 'due_this_week', count: items.dueThisWeek, text: `${counted(items.dueThisWeek, 'task falls', 'tasks fall')} due this week.` },
    {
      kind: 'monthly_care',
      count: items.monthlyMachines,
      text: `${counted(items.monthlyMachines, 'machine wants', 'machines want')} small care this month.`,
    },
    {
      kind: 'needs_person',
      count: counts.needsPerson,
      text: `${counted(counts.needsPerson, 'date finds', 'dates find')} no open day: somebody must decide.`,
    },
    {
      kind: 'set_aside',
      count: counts.setAside,
      text: `${counted(counts.setAside, 'piece of evidence was', 'pieces of evidence were')} set aside.`,
    },
    { kind: 'work_under_way', count: counts.underWay, text: `${counted(counts.underWay, 'work order is', 'work orders are')} under way.` },
  ]
  const said = all.filter((sentence) => sentence.count > 0).slice(0, 6)
  return said.length > 0
    ? said
    : [{ kind: 'nothing', count: 0, text: 'No care is due this week. A tag on a machine counts more than this screen.' }]
}

export async function thisWeek(reading: Reading): Promise<RouteResult<Routes['thisWeek']>> {
  const reach = reading.who.warehouseIds
  const calendars = await readCalendars(reading, reach)
  const counts = new Map((await reading.rows<CountsRow>(COUNTS, [reach])).map((row) => [row.id, row]))
  const from = mondayOf(calendars.map(({ zone }) => localDateOf(reading.now, zone)).sort()[0] ?? localDateOf(reading.now, 'UTC'))
  const to = lastDayOfWeeks(from, WEEKS_SHOWN)
  const monthly = await reading.rows<MonthlyRow>(MONTHLY, [
    calendars.map(({ id }) => id),
    calendars.map(({ zone }) => localDateOf(reading.now, zone)),
    to,
  ])
  const dues = await readDueGroups(reading, { calendars, from, to, monthly: false })
  let pastHardLimit = 0
  const warehouses = calendars.map((known) => {
    const today = localDateOf(reading.now, known.zone)
    const weekEnd = addDays(mondayOf(today), 6)
    const here = dues.filter(({ warehouseId }) => warehouseId === known.id)
    const small = monthly.find(({ id }) => id === known.id)
    const sum = (of: (group: DueGroup) => number): number => here.reduce((total, group) => total + of(group), 0)
    const past = sum((group) => group.pastHardLimit)
    pastHardLimit += past
    const items = {
      late: sum(({ late, count }) => (late ? count : 0)),
      doNotUse: sum((group) => group.doNotUse) + (small?.doNotUse ?? 0),
      pastHardLimit: past,
      dueThisWeek: sum(({ late, dueOn, count }) => (!late && dueOn <= weekEnd ? count : 0)),
      monthlyMachines: small?.machines ?? 0,
    }
    const { loads } = weekLoads(known, today, from, WEEKS_SHOWN, here)
    return { id: known.id, name: known.name, today, sentences: sentencesOf(items, counts.get(known.id) ?? NOTHING), weeks: loads }
  })
  return { warehouses, waiting: await waitingOf(reading, [...counts.values()], pastHardLimit) }
}

const NOTHING: CountsRow = {
  id: '',
  setAside: 0,
  openStoppages: 0,
  needsPerson: 0,
  toLookOver: 0,
  underWay: 0,
  conflicts: 0,
  findings: 0,
  ordersOfGone: 0,
}

async function waitingOf(reading: Reading, counts: readonly CountsRow[], pastHardLimit: number): Promise<ThisWeek['waiting']> {
  const sum = (key: 'setAside' | 'openStoppages' | 'needsPerson' | 'toLookOver' | 'conflicts' | 'findings' | 'ordersOfGone') =>
    counts.reduce((total, row) => total + row[key], 0)
  const { uncertain } = await reading.one<{ uncertain: number }>(
    'figure',
    `SELECT count(*)::int AS uncertain FROM message WHERE organisation_id = $1 AND state = 'uncertain' AND ($2::uuid[] IS NULL OR warehouse_id = ANY($2))`,
    [reading.who.warehouseIds],
  )
  return {
    setAside: sum('setAside'),
    openStoppages: sum('openStoppages'),
    needsPerson: sum('needsPerson'),
    toLookOver: sum('toLookOver'),
    conflicts: sum('conflicts'),
    findings: sum('findings'),
    ordersOfGone: sum('ordersOfGone'),
    pastHardLimit,
    uncertainMessages: uncertain,
  }
}
