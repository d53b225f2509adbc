import { dateOf, dayOf, isoWeekday } from '@tapewarden/scheduling'
import type { ComingUp } from '@tapewarden/shared'
import type { KnownCalendar } from '../use/calendar.js'
import { addDays, mondayOf } from '../use/local-day.js'
import { type DueToFit, fitWeeks, type WeekFit } from './week-fit.js'

type WeekLoad = ComingUp['warehouses'][number]['weeks'][number]
export interface DueForLoad extends DueToFit {
  warehouseId: string
}

/** Weeks from the Monday of `from`; what was due before it is loaded on the first. */
export function weekLoads<Due extends DueForLoad>(
  known: KnownCalendar,
  today: string,
  from: string,
  weeks: number,
  dues: readonly Due[],
): { loads: WeekLoad[]; unfit: Set<Due> } {
  const first = mondayOf(from)
  const own = dues.filter(({ warehouseId }) => warehouseId === known.id)
  const fit = fitWeeks(known.calendar, known.technicianHoursAWeek, dayOf(today), dayOf(first), weeks, own)
  const loads = fit.weeks.map((week, index) => ({ ...emptyWeek(known, addDays(first, 7 * index)), ...week }))
  for (const due of own) {
    if (due.dueOn === null) continue
    const index = Math.max(0, Math.floor((dayOf(due.dueOn) - dayOf(first)) / 7))
    const load = loads[index]
    if (!load) continue
    load.minutesBySkill[due.skill] += due.minutes
    load.dueCount += 1
    if (due.late) load.lateCount += 1
  }
  return { loads, unfit: fit.unfit }
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
