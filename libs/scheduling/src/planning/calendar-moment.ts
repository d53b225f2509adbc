/** The calendar trigger of a task: rule 3, rule 13 after a skip; rule 19 is in plan-change.ts. */
import type { Trigger } from '@tapewarden/shared'
import type { LastDone, PlanTask, SkippedOccurrence } from '../model.js'
import { hardLimitAfter, nextPoint, type Point } from '../rules/points.js'
import { dateOf } from '../time/day.js'
import { sinceBasis } from './baseline.js'
import type { TriggerMoment } from './moments.js'
import { calendarAfterChange, type Dated } from './plan-change.js'

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>

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

/** @param seed names machine and task, for an even and stable spread */
export function calendarMoment(
  task: PlanTask,
  trigger: CalendarTrigger,
  last: LastDone,
  { leadDays, seed, skipped }: { leadDays: number; seed: string; skipped: SkippedOccurrence | null },
): TriggerMoment {
  const changed = calendarAfterChange(task, trigger, last, leadDays, seed)
  const point = nextPoint(trigger, last, last.doneOn)
  const dated: Dated = changed ?? (skipped ? afterSkip(trigger, last, point, skipped) : { ...point, months: trigger.months ?? null })
  return {
    trigger: 'calendar',
    moment: { kind: 'day', day: dated.nominalOn },
    lengthDays: dated.lengthDays,
    ...(dated.hardLimitOn === undefined ? {} : { hardLimitOn: dated.hardLimitOn }),
    ...(dated.windowDays === undefined ? {} : { windowDays: dated.windowDays }),
    basis: {
      ...sinceBasis(last),
      months: dated.months,
      days: trigger.days ?? null,
      dueOn: dateOf(dated.nominalOn),
      ...(changed && task.intervalBefore ? { planChangedOn: dateOf(task.intervalBefore.changedOn) } : {}),
      ...(skipped && !changed ? { skippedOn: dateOf(skipped.endedOn) } : {}),
    },
  }
}
