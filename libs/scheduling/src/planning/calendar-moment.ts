/** The calendar trigger of a task: rule 3, rule 13 after a skip, rule 19 after a change of plan. */
import type { Trigger } from '@tapewarden/shared'
import type { Day, LastDone, PlanTask, SkippedOccurrence } from '../model.js'
import { fractionOf } from '../rules/first-look.js'
import { hardLimitAfter, nextPoint, type Point } from '../rules/points.js'
import { dateOf } from '../time/day.js'
import type { TriggerMoment } from './moments.js'

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>

/** Days over which what a shorter interval makes due is spread; safety checks in the first of them. */
export const CHANGE_SPREAD_DAYS = 28
const CHANGE_FIRST_DAYS = 7
/** Days from its own day there to the hard limit (assumption, as without an interval). */
const CHANGE_LIMIT_DAYS = 30

interface Dated {
  nominalOn: Day
  lengthDays: number
  hardLimitOn?: Day
  windowDays?: number
  months: number | null
}

/** First scheduled point after the skipped one; the hard limit still runs from the last done, unless it was passed before the skip. */
function afterSkip(trigger: CalendarTrigger, last: LastDone, point: Point, skipped: SkippedOccurrence): Dated {
  let next = point
  for (let steps = 1; next.nominalOn <= skipped.nominalOn && steps < 500; steps++) {
    const months = trigger.months === undefined ? 0 : trigger.months * steps
    const days = trigger.months === undefined ? (trigger.days ?? 1) * steps : 0
    next =
      trigger.mode === 'anchored'
        ? nextPoint(trigger, last, next.nominalOn)
        : nextPoint(trigger, { anchorOn: last.anchorOn + days, anchorSteps: last.anchorSteps + months }, last.doneOn)
  }
  const limit = last.doneOn + hardLimitAfter(point.lengthDays)
  const passed = skipped.endedOn > limit
  return {
    nominalOn: next.nominalOn,
    lengthDays: next.lengthDays,
    hardLimitOn: passed ? next.nominalOn + hardLimitAfter(next.lengthDays) - next.lengthDays : limit,
    months: trigger.months ?? null,
  }
}

function afterChange(task: PlanTask, trigger: CalendarTrigger, last: LastDone, leadDays: number, seed: string): Dated | null {
  const before = task.intervalBefore
  const { months } = trigger
  if (!before || before.months === null || months === undefined || before.months === months || last.doneOn >= before.changedOn) return null
  // Longer: the present date stays, the new interval holds from the next occurrence on.
  if (before.months < months) return { ...nextPoint({ ...trigger, months: before.months }, last, last.doneOn), months: before.months }
  const point = nextPoint(trigger, last, last.doneOn)
  if (point.nominalOn > before.changedOn + leadDays) return { ...point, months }
  const day = before.changedOn + 1 + Math.floor(fractionOf(seed) * (task.safetyCheck ? CHANGE_FIRST_DAYS : CHANGE_SPREAD_DAYS))
  return { nominalOn: day, lengthDays: point.lengthDays, windowDays: 0, hardLimitOn: day + CHANGE_LIMIT_DAYS, months }
}

/** @param seed names machine and task, for an even and stable spread */
export function calendarMoment(
  task: PlanTask,
  trigger: CalendarTrigger,
  last: LastDone,
  { leadDays, seed, skipped }: { leadDays: number; seed: string; skipped: SkippedOccurrence | null },
): TriggerMoment {
  const changed = afterChange(task, trigger, last, leadDays, seed)
  const point = nextPoint(trigger, last, last.doneOn)
  const dated: Dated = changed ?? (skipped ? afterSkip(trigger, last, point, skipped) : { ...point, months: trigger.months ?? null })
  return {
    trigger: 'calendar',
    moment: { kind: 'day', day: dated.nominalOn },
    lengthDays: dated.lengthDays,
    ...(dated.hardLimitOn === undefined ? {} : { hardLimitOn: dated.hardLimitOn }),
    ...(dated.windowDays === undefined ? {} : { windowDays: dated.windowDays }),
    basis: {
      lastDoneOn: dateOf(last.doneOn),
      months: dated.months,
      days: trigger.days ?? null,
      dueOn: dateOf(dated.nominalOn),
      ...(changed && task.intervalBefore ? { planChangedOn: dateOf(task.intervalBefore.changedOn) } : {}),
      ...(skipped && !changed ? { skippedOn: dateOf(skipped.endedOn) } : {}),
    },
  }
}
