/** What technicians can do in each of the coming weeks, and what does not fit. Pure. */
import { careOf, type Day, dayOf, isOpenDay, makeDayTable, type WarehouseCalendar } from '@tapewarden/scheduling'
import type { Reach, Skill } from '@tapewarden/shared'

/** So many that are alike in all that counts here: one group of a warehouse's dues. */
export interface DuesToFit {
  dueOn: string
  minutes: number
  skill: Skill
  reach: Reach
  safetyCheck: boolean
  late: boolean
  count: number
}
export interface WeekFit {
  /** Minutes of technicians that there are on the days still open for visits; null: nobody has said how many hours a week. */
  technicianMinutes: number | null
  doesNotFitCount: number
  doesNotFitMinutes: number
}

const WEEK = 7
/** Safety checks, then what is late, then by day, the shorter first: the order in which somebody with too little time would go. */
const inTurn = (a: DuesToFit, b: DuesToFit): number =>
  Number(b.safetyCheck) - Number(a.safetyCheck) ||
  Number(b.late) - Number(a.late) ||
  (a.dueOn < b.dueOn ? -1 : Number(a.dueOn > b.dueOn)) ||
  a.minutes - b.minutes ||
  (a.reach < b.reach ? -1 : Number(a.reach > b.reach))

/**
 * Each week takes what falls due in it, in turn, as long as the hours last: a week's hours are spread evenly over its usual
 * working days, and closed or barred days, and days gone by, take their part away. Nothing is carried over: what does not fit is said.
 * @param first  a Monday; what was due before it counts in its week
 * @returns also how many of each technicians' group fit; what lies beyond the weeks is in none
 */
export function fitWeeks<Dues extends DuesToFit>(
  calendar: WarehouseCalendar,
  technicianHoursAWeek: number | null,
  today: Day,
  first: Day,
  weeks: number,
  dues: readonly Dues[],
): { weeks: WeekFit[]; fitting: Map<Dues, number> } {
  const table = makeDayTable(calendar, first, first + WEEK * weeks - 1)
  const usualDays = calendar.shiftMinutes.slice(1).filter((minutes) => minutes > 0).length
  const aDay = technicianHoursAWeek === null ? null : (technicianHoursAWeek * 60) / Math.max(1, usualDays)
  const byWeek = Array.from({ length: weeks }, (): Dues[] => [])
  for (const group of dues)
    if (group.skill === 'technician') byWeek[Math.max(0, Math.floor((dayOf(group.dueOn) - first) / WEEK))]?.push(group)
  const fitting = new Map<Dues, number>()
  const found = byWeek.map((own, week): WeekFit => {
    const days = Array.from({ length: WEEK }, (_, index) => first + WEEK * week + index).filter((day) => day >= today)
    const open = (care: 'short' | 'long'): number => days.filter((day) => isOpenDay(table, day, care)).length
    const there = { short: (aDay ?? Infinity) * open('short') || 0, long: (aDay ?? Infinity) * open('long') || 0 }
    const left = { ...there }
    let [count, minutes] = [0, 0]
    for (const group of own.toSorted(inTurn)) {
      const long = careOf(group) === 'long'
      const room = long ? Math.min(left.short, left.long) : left.short
      const fit = group.minutes > 0 ? Math.min(group.count, Math.floor(room / group.minutes)) : group.count
      left.short -= fit * group.minutes
      if (long) left.long -= fit * group.minutes
      fitting.set(group, fit)
      count += group.count - fit
      minutes += (group.count - fit) * group.minutes
    }
    return { technicianMinutes: aDay === null ? null : there.short, doesNotFitCount: count, doesNotFitMinutes: minutes }
  })
  return { weeks: found, fitting }
}
