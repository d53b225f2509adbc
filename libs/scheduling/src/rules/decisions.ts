/** Rules 11 and 13: putting off and skipping are decisions of named offices, with a reason; safety checks admit neither. */
import type { Role } from '@tapewarden/shared'
import { type Care, type DayTable, isOpenDay } from '../calendar/day-table.js'
import type { Day } from '../model.js'

export interface Decided {
  safetyCheck: boolean
  monthlyListed: boolean
  care: Care
  hardLimitOn: Day | null
}
export type Decision = { allowed: true } | { allowed: false; code: DecisionCode; reason: string }
export type DecisionCode =
  | 'SAFETY_CHECK'
  | 'MONTHLY_CARE'
  | 'NO_REASON'
  | 'NOT_A_MANAGER'
  | 'NEEDS_ADMINISTRATOR'
  | 'NEEDS_NEW_LIMIT'
  | 'NO_OPEN_DAY'
  | 'IN_THE_PAST'

const refuse = (code: DecisionCode, reason: string): Decision => ({ allowed: false, code, reason })
const isManager = (role: Role): boolean => role === 'manager' || role === 'administrator'

/** Rule 11: to any open day up to the hard limit by a manager; past it by an administrator with a new limit. */
export function checkPutOff(
  table: DayTable,
  occurrence: Decided,
  asked: { until: Day; today: Day; role: Role; reason: string; newHardLimitOn: Day | null },
): Decision {
  if (occurrence.safetyCheck) return refuse('SAFETY_CHECK', 'A safety check cannot be put off. It may only be done earlier.')
  if (occurrence.monthlyListed)
    return refuse(
      'MONTHLY_CARE',
      'Monthly small care belongs to its month and is not put off; an open one is counted as missed on the 1st.',
    )
  if (!isManager(asked.role)) return refuse('NOT_A_MANAGER', 'A manager decides on putting off.')
  if (asked.reason.trim() === '') return refuse('NO_REASON', 'Say why it is put off.')
  if (asked.until <= asked.today) return refuse('IN_THE_PAST', 'The day must lie after today.')
  if (asked.until > table.to || !isOpenDay(table, asked.until, occurrence.care))
    return refuse('NO_OPEN_DAY', 'That day is closed, or in a peak that bars this work. Choose a working day outside it.')
  if (occurrence.hardLimitOn === null || asked.until <= occurrence.hardLimitOn) return { allowed: true }
  if (asked.role !== 'administrator')
    return refuse('NEEDS_ADMINISTRATOR', 'That is past the hard limit: only an administrator may put it off so far.')
  if (asked.newHardLimitOn === null || asked.newHardLimitOn < asked.until)
    return refuse('NEEDS_NEW_LIMIT', 'Past the hard limit a new limit is needed, on or after that day.')
  return { allowed: true }
}

/** Rule 13: skipped is a manager's decision with a reason, never for a safety check, never past the hard limit without an administrator. */
export function checkSkip(occurrence: Decided, asked: { today: Day; role: Role; reason: string }): Decision {
  if (occurrence.safetyCheck) return refuse('SAFETY_CHECK', 'A safety check cannot be skipped; it stays open.')
  if (!isManager(asked.role)) return refuse('NOT_A_MANAGER', 'A manager decides on skipping.')
  if (asked.reason.trim() === '') return refuse('NO_REASON', 'Say why it is skipped.')
  if (occurrence.hardLimitOn !== null && asked.today > occurrence.hardLimitOn && asked.role !== 'administrator')
    return refuse('NEEDS_ADMINISTRATOR', 'It is past its hard limit: only an administrator may skip it.')
  return { allowed: true }
}
