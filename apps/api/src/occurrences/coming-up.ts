import type { ComingUp, ComingUpItem, RouteQuery, Routes } from '@tapewarden/shared'
import { readCalendars } from '../use/calendar.js'
import { localDateOf, mondayOf } from '../use/local-day.js'
import { cursorOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'
import { type BriefRow, type Due, pageOfDues, readDueGroups } from './dues.js'
import { whySentence } from './explain.js'
import { lastDayOfWeeks, weekLoads } from './week-loads.js'

const IN_FULL = `SELECT asked.place, mt.name AS "machineTypeName", s.name AS "stationName", COALESCE(s.line, '') AS line, k.key AS "taskKey",
    COALESCE(f.state, 'dated') AS state, f.early_on AS "earlyOn", f.likely_on AS "likelyOn", f.late_on AS "lateOn", f.no_later_than AS "noLaterThan",
    o.window_to AS "windowTo", COALESCE(o.basis, f.basis) AS basis, CASE WHEN o.id IS NULL THEN f.reason END AS reason,
    wo.id AS "orderId", wo.number AS "orderNumber", wo.state AS "orderState"
  FROM unnest($2::uuid[], $3::uuid[], $4::uuid[]) WITH ORDINALITY AS asked(machine_id, service_task_id, occurrence_id, place)
  LEFT JOIN occurrence o ON o.organisation_id = $1 AND o.id = asked.occurrence_id
  LEFT JOIN forecast f ON f.organisation_id = $1 AND f.machine_id = asked.machine_id AND f.service_task_id = asked.service_task_id
  JOIN machine m ON m.organisation_id = $1 AND m.id = asked.machine_id
  JOIN machine_type mt ON mt.organisation_id = $1 AND mt.id = m.machine_type_id
  JOIN service_task k ON k.organisation_id = $1 AND k.id = asked.service_task_id
  LEFT JOIN placement p ON p.organisation_id = $1 AND p.machine_id = m.id AND p.to_at IS NULL
  LEFT JOIN station s ON s.organisation_id = $1 AND s.id = p.station_id
  LEFT JOIN LATERAL (SELECT y.id, y.number, y.state FROM work_order_task t JOIN work_order y ON y.organisation_id = t.organisation_id AND y.id = t.work_order_id
    WHERE t.organisation_id = $1 AND t.occurrence_id = o.id AND y.state <> 'cancelled' ORDER BY y.number DESC LIMIT 1) wo ON true
  ORDER BY asked.place`

type FullRow = Record<string, unknown> &
  Omit<ComingUpItem, keyof Due | 'why' | 'workOrder'> & {
    basis: Record<string, unknown>
    reason: string | null
    orderId: string | null
    orderNumber: number | null
    orderState: string | null
  }

/** All that a page says of some dues, in their order. */
async function itemsOf(reading: Reading, page: readonly BriefRow[]): Promise<ComingUpItem[]> {
  if (page.length === 0) return []
  const rows = await reading.rows<FullRow & { place: string }>(IN_FULL, [
    page.map(({ machineId }) => machineId),
    page.map(({ serviceTaskId }) => serviceTaskId),
    page.map(({ occurrenceId }) => occurrenceId),
  ])
  return rows.map(({ place, basis, reason, orderId, orderNumber, orderState, ...rest }) => {
    const { pastHardLimit: _past, ...due } = page[Number(place) - 1] as BriefRow
    return {
      ...due,
      ...rest,
      why: whySentence({ ...due, ...rest, governing: due.governingTrigger, reason, basis }, reading.who),
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
  // What the hours hold is told of all that falls due, whatever is looked for in the list.
  const filter = { calendars, from, to, monthly: query.monthly === 'true' }
  const groups = await readDueGroups(reading, filter)
  const weeks = calendars.map((known) => weekLoads(known, localDateOf(reading.now, known.zone), from, query.weeks, groups))
  const fitting = new Map(weeks.flatMap((week) => [...week.fitting]))
  const start = Number(readCursor(query.cursor, ['number'])?.[0] ?? 0)
  // The first page counts small care of the month among these two.
  const monthly = filter.monthly || query.only === 'do_not_use' || query.only === 'needs_person'
  const page = await pageOfDues(reading, query, start, { ...filter, monthly }, groups, fitting)
  return {
    from,
    to,
    warehouses: calendars.map((known, index) => ({
      id: known.id,
      name: known.name,
      today: localDateOf(reading.now, known.zone),
      weeks: weeks[index]?.loads ?? [],
    })),
    items: await itemsOf(reading, page.slice(0, query.limit)),
    nextCursor: page.length > query.limit ? cursorOf([start + query.limit]) : null,
  }
}

function withinReach(reach: readonly string[] | null, warehouseId: string): string[] {
  return reach === null || reach.includes(warehouseId) ? [warehouseId] : []
}
