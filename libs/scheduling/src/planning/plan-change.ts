/** Rule 19: used life carries over a change of plan; what a shorter interval makes due at once is spread over four weeks. */
import type { Trigger } from '@tapewarden/shared'
import type { Day, LastDone, PlanTask } from '../model.js'
import { fractionOf } from '../rules/first-look.js'
import { nextPoint } from '../rules/points.js'
import type { MachineContext } from './context.js'
import { usedOn } from './usage-past.js'

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>

/** Days over which what a shorter interval makes due is spread; safety checks in the first of them. */
export const CHANGE_SPREAD_DAYS = 28
const CHANGE_FIRST_DAYS = 7
/** Days from its own day there to the hard limit (assumption, as without an interval). */
export const CHANGE_LIMIT_DAYS = 30

export interface Dated {
  nominalOn: Day
  lengthDays: number
  hardLimitOn?: Day
  windowDays?: number
  months: number | null
}

/** A longer interval holds from the next occurrence on, a shorter one at once. null: the change does not touch this date. */
export function calendarAfterChange(
  task: PlanTask,
  trigger: CalendarTrigger,
  last: LastDone,
  leadDays: number,
  seed: string,
): Dated | null {
  const before = task.intervalBefore
  const { months } = trigger
  if (!before || months === undefined || before.months === months || last.doneOn >= before.changedOn) return null
  // Longer: the present date stays, the new interval holds from the next occurrence on.
  if (before.months !== null && before.months < months)
    return { ...nextPoint({ ...trigger, months: before.months }, last, last.doneOn), months: before.months }
  const point = nextPoint(trigger, last, last.doneOn)
  if (point.nominalOn > before.changedOn + leadDays) return { ...point, months }
  const day = dayAfterChange(task, before.changedOn, seed)
  return { nominalOn: day, lengthDays: point.lengthDays, windowDays: 0, hardLimitOn: day + CHANGE_LIMIT_DAYS, months }
}

/** Rule 19: its day in the four weeks over which what became due by the change is spread. */
function dayAfterChange(task: PlanTask, changedOn: Day, seed: string): Day {
  return changedOn + 1 + Math.floor(fractionOf(seed) * (task.safetyCheck ? CHANGE_FIRST_DAYS : CHANGE_SPREAD_DAYS))
}

/**
 * Rule 19 for use: the amount that holds until the next occurrence, and, where a smaller one was passed at the change
 * or was about to be, the day on which it is due.
 */
export function useAfterChange(
  context: MachineContext,
  task: PlanTask,
  trigger: Extract<Trigger, { kind: 'usage' }>,
  last: LastDone,
  { perUnit, seed }: { perUnit: number; seed: string },
): { amount: number; dueOn: Day | null } {
  const before = task.intervalBefore
  const { amount, unit } = trigger
  if (!before || last.doneOn >= before.changedOn || (before.use?.unit === unit && before.use.amount === amount))
    return { amount, dueOn: null }
  if (before.use?.unit === unit && before.use.amount < amount) return { amount: before.use.amount, dueOn: null }
  const passedOn = usedOn(context.machine, last, amount * perUnit)
  const reached = passedOn !== null && last.stripsTotal !== null && context.machine.stripsTotal - last.stripsTotal >= amount * perUnit
  if (!reached || passedOn > before.changedOn + context.input.leadDays) return { amount, dueOn: null }
  return { amount, dueOn: Math.max(passedOn, dayAfterChange(task, before.changedOn, seed)) }
}
