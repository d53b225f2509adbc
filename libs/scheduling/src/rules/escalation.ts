/** Rules 10 and 12: who is told when, each stage once; a message about an earlier date moves the start of lateness. */
import { type Care, type DayTable, openDayBefore, workingDayBefore, workingDaysBetween } from '../calendar/day-table.js'
import type { Day, SayThis } from '../model.js'
import type { ReminderStage } from '@tapewarden/shared'

export interface Standing {
  care: Care
  dueOn: Day
  lateFrom: Day | null
  hardLimitOn: Day | null
  safetyCheck: boolean
  neverLate: boolean
  saidStages: readonly ReminderStage[]
  underWaySince: Day | null
  lastEntryOn: Day | null
  /** Urgent mail from usage limits only where a counter or strips a day support it (rule 4). */
  urgentAllowed: boolean
}

/** Days of lateness at which it is passed on: to the technician, the second person, the manager. */
export const PASSED_ON_AFTER_DAYS = [3, 7, 14] as const
const PASSED_ON: readonly [ReminderStage, SayThis['told']][] = [
  ['passed_on_1', 'technician'],
  ['passed_on_2', 'second'],
  ['passed_on_3', 'manager'],
]

/** Rule 10: pauses while under way; goes on after 3 working days without an entry. */
export function isPaused(
  table: DayTable,
  today: Day,
  { underWaySince, lastEntryOn }: Pick<Standing, 'underWaySince' | 'lastEntryOn'>,
): boolean {
  if (underWaySince === null) return false
  return workingDaysBetween(table, lastEntryOn ?? underWaySince, today) < 3
}

/** Rule 10: the last working day before the last open day up to the hard limit, and that last open day; null where there is none. */
export function urgentOn(table: DayTable, care: Care, hardLimitOn: Day, notBefore: Day): { sayOn: Day; doBy: Day } | null {
  const doBy = openDayBefore(table, hardLimitOn, care, notBefore)
  const sayOn = doBy === null ? null : workingDayBefore(table, doBy)
  return doBy === null || sayOn === null ? null : { sayOn, doBy }
}

type Say = (stage: ReminderStage, told: SayThis['told'], more?: Partial<SayThis>) => void

/** What is to be said today of an open occurrence; nothing that was said already, and of several due stages the furthest. */
export function sayToday(table: DayTable, today: Day, standing: Standing): SayThis[] {
  const said = new Set(standing.saidStages)
  const out: SayThis[] = []
  const say: Say = (stage, told, more = {}) => {
    if (!said.has(stage)) out.push({ stage, told, sayOn: today, class: 'digest', ...more })
  }
  const lateDays = standing.lateFrom === null || standing.neverLate ? 0 : today - standing.lateFrom + 1
  sayFurthest(standing, today, lateDays, said, say)
  if (lateDays > 0 && !isPaused(table, today, standing))
    for (const [index, [stage, told]] of PASSED_ON.entries()) if (lateDays >= (PASSED_ON_AFTER_DAYS[index] as number)) say(stage, told)
  sayLimits(table, today, standing, say)
  return out
}

function sayFurthest(standing: Standing, today: Day, lateDays: number, said: ReadonlySet<ReminderStage>, say: Say): void {
  if (lateDays > 0) return say('late', 'first')
  if (said.has('late')) return
  if (today >= standing.dueOn) return say('due', 'first')
  if (!said.has('due')) say('coming_due', 'first')
}

function sayLimits(table: DayTable, today: Day, standing: Standing, say: Say): void {
  const limit = standing.safetyCheck ? (standing.lateFrom === null ? null : standing.lateFrom - 1) : standing.hardLimitOn
  if (limit === null || standing.neverLate) return
  if (today > limit) return say('past_hard_limit', 'administrator')
  if (!standing.urgentAllowed) return
  const urgent = urgentOn(table, standing.care, limit, today - 60)
  if (urgent !== null && today >= urgent.sayOn) say('hard_limit_tomorrow', 'first', { class: 'urgent', doBy: urgent.doBy })
}
