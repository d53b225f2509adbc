/** What technicians can do in each of the coming weeks, and what does not fit. Pure. */
import { careOf, type Day, dayOf, isOpenDay, makeDayTable, type WarehouseCalendar } from '@tapewarden/scheduling'
import type { Reach, Skill } from '@tapewarden/shared'

export interface DueToFit {
  dueOn: string | null
  minutes: number
  skill: Skill
  reach: Reach
  safetyCheck: boolean
  late: boolean
  labelCode: string
}
export interface WeekFit {
  /** Minutes of technicians that there are on the days still open for visits; null: nobody has said how many hours a week. */
  technicianMinutes: number | null
  doesNotFitCount: number
  doesNotFitMinutes: number
}

const WEEK = 7
const byLabel = new Intl.Collator('en').compare
/** Safety checks, then what is late, then by day: the order in which somebody with too little time would go. */
const inTurn = (a: DueToFit, b: DueToFit): number =>
  Number(b.safetyCheck) - Number(a.safetyCheck) ||
  Number(b.late) - Number(a.late) ||
  ((a.dueOn ?? '') < (b.dueOn ?? '') ? -1 : Number((a.dueOn ?? '') > (b.dueOn ?? ''))) ||
  byLabel(a.labelCode, b.labelCode)

/**
 * Each week takes what falls due in it, in turn, as long as the hours last: a week's hours are spread evenly over its usual
 * working days, and closed or barred days, and days gone by, take their part away. Nothing is carried over: what does not fit is said.
 * @param first  a Monday; what was due before it counts in its week
 */
export function fitWeeks<Due extends DueToFit>(
  calendar: WarehouseCalendar,
  technicianHoursAWeek: number | null,
  today: Day,
  first: Day,
  weeks: number,
  dues: readonly Due[],
): { weeks: WeekFit[]; unfit: Set<Due> } {
  const table = makeDayTable(calendar, first, first + WEEK * weeks - 1)
  const usualDays = calendar.shiftMinutes.slice(1).filter((minutes) => minutes > 0).length
  const aDay = technicianHoursAWeek === null ? null : (technicianHoursAWeek * 60) / Math.max(1, usualDays)
  const byWeek = Array.from({ length: weeks }, (): Due[] => [])
  for (const due of dues) {
    if (due.skill !== 'technician' || due.dueOn === null) continue
    byWeek[Math.max(0, Math.floor((dayOf(due.dueOn) - first) / WEEK))]?.push(due)
  }
  const unfit = new Set<Due>()
  const found = byWeek.map((own, week): WeekFit => {
    const days = Array.from({ length: WEEK }, (_, index) => first + WEEK * week + index).filter((day) => day >= today)
    const open = (care: 'short' | 'long'): number => days.filter((day) => isOpenDay(table, day, care)).length
    const there = { short: (aDay ?? Infinity) * open('short') || 0, long: (aDay ?? Infinity) * open('long') || 0 }
    const left = { ...there }
    let [count, minutes] = [0, 0]
    for (const due of own.toSorted(inTurn)) {
      const long = careOf(due) === 'long'
      if (due.minutes <= left.short && (!long || due.minutes <= left.long)) {
        left.short -= due.minutes
        if (long) left.long -= due.minutes
        continue
      }
      unfit.add(due)
      count += 1
      minutes += due.minutes
    }
    return { technicianMinutes: aDay === null ? null : there.short, doesNotFitCount: count, doesNotFitMinutes: minutes }
  })
  return { weeks: found, unfit }
}
