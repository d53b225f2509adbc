/** One task on one machine: when it falls due and by which trigger, or why there is no date. */
import type { TriggerKind } from '@tapewarden/shared'
import { careOf } from '../calendar/day-table.js'
import { type DueRange, firstDue } from '../combine/first-due.js'
import type { Day, LastDone, PlanTask } from '../model.js'
import { spreadLookDueOn } from '../rules/first-look.js'
import { hasCalendarMonth, monthDays } from '../rules/monthly.js'
import { dateOf } from '../time/day.js'
import type { MachineContext } from './context.js'
import {
  calendarMoment,
  calendarTrigger,
  findingMoments,
  lastDoneOf,
  lifeMoment,
  situationMoments,
  type TriggerMoment,
  usageMoment,
} from './moments.js'
import { wearMomentFor } from './wear-moments.js'

export interface Outlook {
  task: PlanTask
  last: LastDone | null
  range: DueRange
  governing: TriggerMoment | null
  firstLook: boolean
  noLaterThan: Day | null
  reason: string | null
}

/** Longest interval of the task, days, over which its first looks are spread. */
function spreadOf(task: PlanTask): number {
  const trigger = calendarTrigger(task)
  return trigger === undefined ? 182 : trigger.months === undefined ? (trigger.days ?? 182) : Math.round(trigger.months * 30.44)
}

function firstLookMoment({ machine, fleet }: MachineContext, task: PlanTask): TriggerMoment {
  const day = spreadLookDueOn(fleet.table, machine.registeredOn, spreadOf(task), `${machine.machineId} ${task.key}`, careOf(task))
  return {
    trigger: 'calendar',
    moment: { kind: 'day', day },
    lengthDays: null,
    basis: { lastDoneOn: null, firstLook: true, dueOn: dateOf(day) },
  }
}

/** The month's last open day of the first month that is not settled yet (rule 6). */
function monthMoment({ fleet, input }: MachineContext, last: LastDone | null): TriggerMoment {
  let month = monthDays(fleet.table, input.today)
  if (last !== null && last.doneOn >= month.first) month = monthDays(fleet.table, month.last + 1)
  return {
    trigger: 'calendar_month',
    moment: { kind: 'day', day: month.dueOn },
    lengthDays: null,
    basis: { lastDoneOn: last === null ? null : dateOf(last.doneOn), month: dateOf(month.first).slice(0, 7), dueOn: dateOf(month.dueOn) },
  }
}

function scheduledMoments(context: MachineContext, task: PlanTask, last: LastDone): TriggerMoment[] {
  const out: TriggerMoment[] = []
  for (const trigger of task.triggers) {
    const moment =
      trigger.kind === 'calendar'
        ? calendarMoment(task, trigger, last, context.input.leadDays)
        : trigger.kind === 'usage'
          ? usageMoment(context, trigger, last)
          : trigger.kind === 'life'
            ? lifeMoment(context, task, trigger, last)
            : null
    if (moment) out.push(moment)
  }
  return out
}

export function outlookOf(context: MachineContext, task: PlanTask): Outlook {
  const { last } = lastDoneOf(context, task)
  const wear = wearMomentFor(context, task)
  const findings = findingMoments(context, task, last, wear.noLaterThan)
  const moments = [...findings, ...situationMoments(context, task, last)]
  if (hasCalendarMonth(task)) moments.push(monthMoment(context, last))
  if (last) moments.push(...scheduledMoments(context, task, last))
  // A finding on the worn part speaks for the wear: it is dated 'no later than', not today.
  if (wear.moment && !(findings.length > 0 && task.triggers.some(({ kind }) => kind === 'wear'))) moments.push(wear.moment)
  const needsLook = !last && !hasCalendarMonth(task) && calendarTrigger(task) !== undefined
  const look = needsLook ? firstLookMoment(context, task) : null
  if (look) moments.push(look)

  const due = firstDue(
    context.usage,
    moments.map(({ moment }) => moment),
  )
  const governing = due.governing === null ? null : (moments[due.governing] as TriggerMoment)
  const isWear = governing?.trigger === 'wear'
  // Rule 15: due at the likely crossing, or at 'no later than' where that comes first.
  const capped = isWear && wear.noLaterThan !== null && due.likely !== null && wear.noLaterThan < due.likely ? wear.noLaterThan : due.likely
  return {
    task,
    last,
    range: { early: due.early === null || capped === null ? due.early : Math.min(due.early, capped), likely: capped, late: due.late },
    governing,
    firstLook: look !== null && governing === look,
    noLaterThan: wear.noLaterThan,
    reason: governing ? null : (wear.reason ?? reasonWithoutDate(task)),
  }
}

const WITHOUT_DATE: Partial<Record<TriggerKind, string>> = {
  finding: 'Falls due only when an inspection finds it.',
  function_check: 'Falls due when measured strip lengths drift out of tolerance, or by a finding.',
  situation: 'Falls due when something happens that asks for it.',
  least_cost_age: 'No date until enough removals show that replacing early pays; a finding makes it due.',
  usage: 'The use since the last time is not known.',
}

function reasonWithoutDate(task: PlanTask): string {
  for (const kind of ['least_cost_age', 'function_check', 'usage', 'finding', 'situation'] as const)
    if (task.triggers.some((trigger) => trigger.kind === kind)) return WITHOUT_DATE[kind] as string
  return 'No trigger of this task gives a date.'
}
