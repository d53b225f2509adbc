/** Rule 6: small care that belongs to its calendar month and never nags; and the monthly safety look of rule 7. */
import { type Care, type DayTable, openDayAfter, openDayBefore } from '../calendar/day-table.js'
import type { Day, PlanTask } from '../model.js'
import { firstOfMonth, lastOfMonth } from '../time/day.js'

export const hasCalendarMonth = (task: Pick<PlanTask, 'triggers'>): boolean => task.triggers.some(({ kind }) => kind === 'calendar_month')

export interface MonthDays {
  first: Day
  last: Day
  /** First open day: the list is said, the occurrence opens. Null in a month without one, which is not asked for. */
  opensOn: Day | null
  /** Last open day: what it counts as when compared with other triggers. */
  dueOn: Day
}

/** @param care of the felt behind a cover: a technician's, so that peaks count (rule 6, last sentence) */
export function monthDays(table: DayTable, day: Day, care: Care = 'round'): MonthDays {
  const first = firstOfMonth(day)
  const last = lastOfMonth(day)
  return { first, last, opensOn: openDayAfter(table, first, care, last), dueOn: openDayBefore(table, last, care, first) ?? last }
}

/** Rule 18: a month in which the machine was registered after an open day is not asked for on its own. */
export const isMonthOfRegistration = (table: DayTable, month: MonthDays, registeredOn: Day): boolean =>
  registeredOn >= month.first && openDayAfter(table, month.first, 'round', registeredOn - 1) !== null

/** Working day on which the one line on what is still open is said: the first one of the month's last seven days. */
export function lastWeekSaidOn(table: DayTable, month: MonthDays): Day | null {
  return openDayAfter(table, month.last - 6, 'round', month.last)
}
