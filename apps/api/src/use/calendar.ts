import { dayOf, makeDayTable, type DayTable, type WarehouseCalendar } from '@tapewarden/scheduling'
import type { PeakBars } from '@tapewarden/shared'
import type { Rows } from './rows.js'

export interface ShiftRow {
  weekday: number
  startsMinute: number
  endsMinute: number
}
interface CalendarRow extends Record<string, unknown> {
  id: string
  name: string
  zone: string
  technicianHoursAWeek: number | null
  shifts: ShiftRow[]
  closures: { fromDate: string; toDate: string; reason: string }[]
  peaks: { fromDate: string; toDate: string; name: string; usageMultiplier: number; bars: PeakBars }[]
}
/** A warehouse's week, closures and peaks, in rows for showing and in days for computing. */
export interface KnownCalendar extends CalendarRow {
  calendar: WarehouseCalendar
}

const MINUTE = (column: string) => `(EXTRACT(hour FROM ${column}) * 60 + EXTRACT(minute FROM ${column}))::int`
const SELECT = `SELECT w.id, w.name, w.zone, w.technician_hours_a_week AS "technicianHoursAWeek",
    (SELECT COALESCE(jsonb_agg(jsonb_build_object('weekday', s.weekday, 'startsMinute', ${MINUTE('s.starts')}, 'endsMinute', ${MINUTE('s.ends')})), '[]')
      FROM shift s WHERE s.organisation_id = w.organisation_id AND s.warehouse_id = w.id) AS shifts,
    (SELECT COALESCE(jsonb_agg(jsonb_build_object('fromDate', c.from_date, 'toDate', c.to_date, 'reason', c.reason) ORDER BY c.from_date), '[]')
      FROM closure c WHERE c.organisation_id = w.organisation_id AND c.warehouse_id = w.id) AS closures,
    (SELECT COALESCE(jsonb_agg(jsonb_build_object('fromDate', p.from_date, 'toDate', p.to_date, 'name', p.name, 'usageMultiplier', p.usage_multiplier, 'bars', p.bars) ORDER BY p.from_date), '[]')
      FROM peak p WHERE p.organisation_id = w.organisation_id AND p.warehouse_id = w.id) AS peaks
  FROM warehouse w WHERE w.organisation_id = $1 AND ($2::uuid[] IS NULL OR w.id = ANY($2)) ORDER BY w.name, w.id`

function calendarOf(row: CalendarRow): WarehouseCalendar {
  const shiftMinutes = new Array<number>(8).fill(0)
  for (const { weekday, startsMinute, endsMinute } of row.shifts) {
    const length = endsMinute - startsMinute
    shiftMinutes[weekday] = (shiftMinutes[weekday] ?? 0) + (length > 0 ? length : length + 1440)
  }
  return {
    zone: row.zone,
    shiftMinutes,
    shifts: row.shifts,
    closures: row.closures.map(({ fromDate, toDate }) => ({ from: dayOf(fromDate), to: dayOf(toDate) })),
    peaks: row.peaks.map(({ fromDate, toDate, usageMultiplier, bars }) => ({
      from: dayOf(fromDate),
      to: dayOf(toDate),
      usageMultiplier,
      bars,
    })),
  }
}

export async function readCalendars(rows: Rows, warehouseIds: readonly string[] | null): Promise<KnownCalendar[]> {
  return (await rows.rows<CalendarRow>(SELECT, [warehouseIds])).map((row) => ({ ...row, calendar: calendarOf(row) }))
}

/** @param days  how far before and after today the table reaches */
export function dayTable({ calendar }: KnownCalendar, today: string, days = 800): DayTable {
  return makeDayTable(calendar, dayOf(today) - days, dayOf(today) + days)
}
