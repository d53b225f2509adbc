/** One task on one machine: when it falls due and by which trigger, or why there is no date. */
import type { TriggerKind } from '@tapewarden/shared'
import { careOf } from '../calendar/day-table.js'
import { dayOfChance } from '../combine/due-moment.js'
import { type DueRange, firstDue, LIKELY } from '../combine/first-due.js'
import type { Day, LastDone, PlanTask } from '../model.js'
import { hasCalendarMonth, isMonthOfRegistration, monthDays } from '../rules/monthly.js'
import { HARD_LIMIT_WITHOUT_INTERVAL_DAYS } from '../rules/points.js'
import { dateOf } from '../time/day.js'
import { lastDoneOf, skippedSince } from './baseline.js'
import { calendarMoment } from './calendar-moment.js'
import type { MachineContext } from './context.js'
import { findingMoments, situationMoments } from './events.js'
import { firstLookMoment, firstSmallCareOn, wantsFirstLook } from './first-look-moment.js'
import { leastCostMoment, lifeMoment } from './life-moments.js'
import { type TriggerMoment, usageMoment } from './moments.js'
import { wearMomentFor } from './wear-moments.js'

export interface Outlook {
  task: PlanTask
  last: LastDone | null
  range: DueRange
  /** All due moments of the task, from which the range was made. */
  moments: readonly TriggerMoment[]
  governing: TriggerMoment | null
  firstLook: boolean
  noLaterThan: Day | null
  reason: string | null
}

/** Months ahead in which one with an open day is looked for. */
const MONTHS_AHEAD = 14

/** Rule 18 for small care of which nothing is known: the day of its first time, until that has passed; null: as any month. */
function firstTimeOn(context: MachineContext, task: PlanTask): Day | null {
  const { machine } = context
  const open = machine.open[task.serviceTaskId]
  if (open?.kind === 'first_look') return open.nominalOn
  return machine.newest[task.serviceTaskId] === undefined ? firstSmallCareOn(context, task) : null
}

/** The month's last open day of the first month that is not settled yet (rule 6); a skipped month counts as settled. */
function monthMoment(context: MachineContext, task: PlanTask, last: LastDone | null, skippedOn: Day | null): TriggerMoment {
  const { fleet, input, machine } = context
  const care = careOf(task)
  let month = monthDays(fleet.table, input.today, care)
  const settledOn = Math.max(last?.doneOn ?? Number.NEGATIVE_INFINITY, skippedOn ?? Number.NEGATIVE_INFINITY)
  const firstOn = last === null && skippedOn === null ? firstTimeOn(context, task) : null
  if (firstOn !== null && firstOn >= month.first) {
    const basis = { lastDoneOn: null, month: dateOf(firstOn).slice(0, 7), firstLook: true, dueOn: dateOf(firstOn) }
    return { trigger: 'calendar_month', moment: { kind: 'day', day: firstOn }, lengthDays: null, basis }
  }
  if (settledOn >= month.first || isMonthOfRegistration(fleet.table, month, machine.registeredOn))
    month = monthDays(fleet.table, month.last + 1, care)
  for (let ahead = 0; month.opensOn === null && ahead < MONTHS_AHEAD; ahead++) month = monthDays(fleet.table, month.last + 1, care)
  return {
    trigger: 'calendar_month',
    moment: { kind: 'day', day: month.dueOn },
    lengthDays: null,
    basis: { lastDoneOn: last === null ? null : dateOf(last.doneOn), month: dateOf(month.first).slice(0, 7), dueOn: dateOf(month.dueOn) },
  }
}

/** A look that was skipped is asked for again at the limit that it would have had; the life clock itself runs on. */
function lifeAfterSkip(moment: TriggerMoment | null, skipped: boolean): TriggerMoment | null {
  if (!moment || !skipped || moment.moment.kind === 'strips') return moment
  const likely = moment.moment.kind === 'day' ? moment.moment.day : dayOfChance(moment.moment, LIKELY)
  const day = likely + HARD_LIMIT_WITHOUT_INTERVAL_DAYS
  return { ...moment, moment: { kind: 'day', day }, basis: { ...moment.basis, dueOn: dateOf(day) } }
}

function scheduledMoments(context: MachineContext, task: PlanTask, last: LastDone): TriggerMoment[] {
  const skipped = skippedSince(context, task, last)
  const { leadDays } = context.input
  const seed = `${context.machine.machineId} ${task.key}`
  const out: TriggerMoment[] = []
  for (const trigger of task.triggers) {
    const moment =
      trigger.kind === 'calendar'
        ? calendarMoment(task, trigger, last, { leadDays, seed, skipped })
        : trigger.kind === 'usage'
          ? usageMoment(context, task, trigger, last, { skipped: skipped !== null, seed })
          : trigger.kind === 'life'
            ? lifeAfterSkip(lifeMoment(context, task, trigger, last), skipped !== null)
            : null
    if (moment) out.push(moment)
  }
  return out
}

interface Found {
  moments: TriggerMoment[]
  look: TriggerMoment | null
  noLaterThan: Day | null
  wearReason: string | null
}

function momentsOf(context: MachineContext, task: PlanTask, last: LastDone | null): Found {
  const skippedOn = skippedSince(context, task, last)?.endedOn ?? null
  const wear = wearMomentFor(context, task)
  const findings = findingMoments(context, task, { last, noLaterThan: wear.noLaterThan, skippedOn })
  const moments = [...findings, ...situationMoments(context, task, last, skippedOn)]
  if (hasCalendarMonth(task)) moments.push(monthMoment(context, task, last, skippedOn))
  if (last) moments.push(...scheduledMoments(context, task, last))
  // A finding on the worn part speaks for the wear: it is dated 'no later than', not today.
  if (wear.moment && !(findings.length > 0 && task.triggers.some(({ kind }) => kind === 'wear'))) moments.push(wear.moment)
  const leastCost = leastCostMoment(context, task)
  if (leastCost && skippedOn === null) moments.push(leastCost)
  const look = !last && skippedOn === null && wantsFirstLook(task) ? firstLookMoment(context, task) : null
  if (look) moments.push(look)
  return { moments, look, noLaterThan: wear.noLaterThan, wearReason: wear.reason }
}

export function outlookOf(context: MachineContext, task: PlanTask): Outlook {
  const last = lastDoneOf(context, task)
  const { moments, look, noLaterThan, wearReason } = momentsOf(context, task, last)
  const due = firstDue(
    context.usage,
    moments.map(({ moment }) => moment),
  )
  const governing = due.governing === null ? null : (moments[due.governing] as TriggerMoment)
  // Rule 15: due at the likely crossing, or at 'no later than' where that comes first; after a skip at 'no later than'.
  const skipped = skippedSince(context, task, last) !== null
  const capped = governing?.trigger === 'wear' && noLaterThan !== null && (skipped || due.likely === null || noLaterThan < due.likely)
  const likely = capped ? noLaterThan : due.likely
  return {
    task,
    last,
    range: {
      early: due.early === null || likely === null ? due.early : Math.min(due.early, likely),
      likely,
      late: due.late === null || likely === null ? due.late : Math.max(due.late, likely),
    },
    moments,
    governing,
    firstLook: look !== null && governing === look,
    noLaterThan,
    reason: governing ? null : (wearReason ?? reasonWithoutDate(task)),
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
