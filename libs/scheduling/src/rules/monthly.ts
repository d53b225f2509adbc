/** Rule 6: small care that belongs to its calendar month and never nags; and the monthly safety look of rule 7. */
import { type DayTable, openDayAfter, openDayBefore } from '../calendar/day-table.js'
import type { Day, PlanTask } from '../model.js'
import { firstOfMonth, lastOfMonth } from '../time/day.js'

export const hasCalendarMonth = (task: Pick<PlanTask, 'triggers'>): boolean => task.triggers.some(({ kind }) => kind === 'calendar_month')

/** In the monthly list: outside care by the calendar month, the safety look at cord, covers and guard included. */
export const isMonthlyListed = (task: Pick<PlanTask, 'triggers' | 'reach'>): boolean => task.reach === 'outside' && hasCalendarMonth(task)

export interface MonthDays {
  first: Day
  last: Day
  /** First working day: the list is said, the occurrence opens. Null in a month without one. */
  opensOn: Day | null
  /** Last open day: what it counts as when compared with other triggers. */
  dueOn: Day
}

export function monthDays(table: DayTable, day: Day): MonthDays {
  const first = firstOfMonth(day)
  const last = lastOfMonth(day)
  return { first, last, opensOn: openDayAfter(table, first, 'round', last), dueOn: openDayBefore(table, last, 'round', first) ?? last }
}

/** Working day on which the one line on what is still open is said: the first one of the month's last seven days. */
export function lastWeekSaidOn(table: DayTable, month: MonthDays): Day | null {
  return openDayAfter(table, month.last - 6, 'round', month.last)
}
