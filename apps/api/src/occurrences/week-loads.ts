import { dateOf, dayOf, isoWeekday } from '@tapewarden/scheduling'
import type { ComingUp } from '@tapewarden/shared'
import type { KnownCalendar } from '../use/calendar.js'
import { addDays, mondayOf } from '../use/local-day.js'
import { type DuesToFit, fitWeeks, type WeekFit } from './week-fit.js'

type WeekLoad = ComingUp['warehouses'][number]['weeks'][number]
export interface DuesForLoad extends DuesToFit {
  warehouseId: string
}

/** Weeks from the Monday of `from`; what was due before it is loaded on the first. */
export function weekLoads<Dues extends DuesForLoad>(
  known: KnownCalendar,
  today: string,
  from: string,
  weeks: number,
  dues: readonly Dues[],
): { loads: WeekLoad[]; fitting: Map<Dues, number> } {
  const first = mondayOf(from)
  const own = dues.filter(({ warehouseId }) => warehouseId === known.id)
  const fit = fitWeeks(known.calendar, known.technicianHoursAWeek, dayOf(today), dayOf(first), weeks, own)
  const loads = fit.weeks.map((week, index) => ({ ...emptyWeek(known, addDays(first, 7 * index)), ...week }))
  for (const { dueOn, skill, minutes, late, count } of own) {
    const load = loads[Math.max(0, Math.floor((dayOf(dueOn) - dayOf(first)) / 7))]
    if (!load) continue
    load.minutesBySkill[skill] += minutes * count
    load.dueCount += count
    if (late) load.lateCount += count
  }
  return { loads, fitting: fit.fitting }
}

function emptyWeek({ calendar, closures, peaks }: KnownCalendar, weekStart: string): Omit<WeekLoad, keyof WeekFit> {
  const days = Array.from({ length: 7 }, (_unused, index) => addDays(weekStart, index))
  const closed = days.filter((day) => closures.some((closure) => closure.fromDate <= day && day <= closure.toDate))
  const minutesOf = (day: string) => (closed.includes(day) ? 0 : (calendar.shiftMinutes[isoWeekday(dayOf(day))] ?? 0))
  const weekEnd = days[6] ?? weekStart
  return {
    weekStart,
    minutesBySkill: { instructed: 0, technician: 0, electrical: 0 },
    dueCount: 0,
    lateCount: 0,
    openDays: days.filter((day) => minutesOf(day) > 0).length,
    shiftMinutes: days.reduce((sum, day) => sum + minutesOf(day), 0),
    closedDays: closed,
    peaks: peaks
      .filter((peak) => peak.fromDate <= weekEnd && peak.toDate >= weekStart)
      .map(({ name, bars, usageMultiplier }) => ({ name, bars, usageMultiplier })),
  }
}

export function lastDayOfWeeks(from: string, weeks: number): string {
  return dateOf(dayOf(mondayOf(from)) + 7 * weeks - 1)
}
