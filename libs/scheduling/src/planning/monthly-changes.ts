/** Rule 6 in the pass: the month's occurrence opens on its first working day, is said in the list, and is missed on the 1st. */
import { careOf } from '../calendar/day-table.js'
import type { OccurrenceChange, OpenOccurrence, PlanTask, SayThis } from '../model.js'
import { isMonthOfRegistration, lastWeekSaidOn, type MonthDays, monthDays } from '../rules/monthly.js'
import { opensToday } from '../rules/shift.js'
import { addMonthsClamped, dateOf, firstOfMonth, isoWeekday } from '../time/day.js'
import { skippedSince } from './baseline.js'
import { openNew } from './changes.js'
import type { MachineContext } from './context.js'
import type { OccurrenceDates } from './dates.js'
import { firstSmallCareOn } from './first-look-moment.js'
import type { Outlook } from './outlook.js'
import { regularChanges, supersede } from './regular-changes.js'
import { wakeUpDates } from './wake-up.js'

/** Whole months running without an answer after which a safety look says 'do not use' (rule 7). */
export const UNANSWERED_MONTHS = 2

function monthDates(context: MachineContext, task: PlanTask, month: MonthDays, outlook: Outlook): OccurrenceDates {
  const answeredOn = outlook.last?.doneOn ?? context.machine.registeredOn
  const unanswered = firstOfMonth(answeredOn) < addMonthsClamped(month.first, -UNANSWERED_MONTHS)
  return {
    kind: 'monthly',
    nominalOn: month.dueOn,
    windowFrom: month.first,
    windowTo: month.last,
    hardLimitOn: null,
    dueOn: month.dueOn,
    lateFrom: task.safetyCheck && unanswered ? month.first : null,
    needsPerson: false,
    governing: 'calendar_month',
    basis: {
      lastDoneOn: outlook.last === null ? null : dateOf(outlook.last.doneOn),
      month: dateOf(month.first).slice(0, 7),
      dueOn: dateOf(month.dueOn),
    },
    care: careOf(task),
    neverLate: true,
    urgentAllowed: false,
  }
}

/** In the list at once, and one line in the month's last week where it was in the list before. */
function sayMonthly({ input, fleet }: MachineContext, month: MonthDays, open: OpenOccurrence | null): SayThis[] {
  const said = new Set(open?.saidStages ?? [])
  const say = (stage: 'month_list' | 'month_last_week'): SayThis[] => [{ stage, told: 'first', sayOn: input.today, class: 'digest' }]
  if (!said.has('month_list')) return say('month_list')
  const lastWeek = lastWeekSaidOn(fleet.table, month)
  const isTime = lastWeek !== null && input.today >= lastWeek && (open?.openedOn ?? input.today) < lastWeek
  return isTime && !said.has('month_last_week') ? say('month_last_week') : []
}

const LISTED: ReadonlySet<string> = new Set(['monthly', 'first_look', 'wake_up'])

/** The month's own dates once it has begun; those of the first time where the past is not known; null: nothing to ask yet. */
function datesThisMonth(context: MachineContext, task: PlanTask, outlook: Outlook, month: MonthDays): OccurrenceDates | null {
  const { today } = context.input
  const { machine, fleet } = context
  const dates = monthDates(context, task, month, outlook)
  if (outlook.last === null && machine.newest[task.serviceTaskId] === undefined) {
    const first = firstTimeDates(context, task, dates, month)
    if (first !== 'as_usual') return first
  } else if (isMonthOfRegistration(fleet.table, month, machine.registeredOn)) return null
  return month.opensOn !== null && today >= month.opensOn ? dates : null
}

/** Rule 18: the month of registration is not asked for on its own; 'as_usual' once the four weeks lie in a month gone by. */
function firstTimeDates(
  context: MachineContext,
  task: PlanTask,
  dates: OccurrenceDates,
  month: MonthDays,
): OccurrenceDates | null | 'as_usual' {
  const { today, leadDays } = context.input
  const dueOn = firstSmallCareOn(context, task)
  if (dueOn < month.first) return 'as_usual'
  // Asked for in the month of its own day, so that one answer settles that month too.
  if (dueOn > month.last) return null
  if (!opensToday(today, dueOn, dueOn, leadDays, 0)) return null
  const basis = { ...dates.basis, firstLook: true, dueOn: dateOf(dueOn) }
  return {
    ...dates,
    kind: 'first_look',
    nominalOn: dueOn,
    dueOn,
    windowFrom: context.machine.registeredOn,
    windowTo: dueOn,
    lateFrom: null,
    basis,
  }
}

/** What is open and listed: it is missed on the 1st, gives way to a finding, or is only spoken of. */
function listedChanges(context: MachineContext, open: OpenOccurrence, month: MonthDays): OccurrenceChange[] {
  const { today } = context.input
  if (open.kind === 'monthly') return sayOf(open, sayMonthly(context, month, open))
  // Missed when its week is over; one that could only be asked for later has a week from then.
  const overOn = Math.max(open.dueOn + 8 - isoWeekday(open.dueOn), open.openedOn + 7)
  const missed = today >= overOn && !open.saidStages.includes('first_look_missed')
  const list = open.saidStages.includes('month_list') ? [] : sayMonthly(context, month, open)
  const late = (['first', 'second'] as const).map((told): SayThis => ({ stage: 'first_look_missed', told, sayOn: today, class: 'digest' }))
  return sayOf(open, [...list, ...(missed ? late : [])])
}

const sayOf = (open: OpenOccurrence, say: SayThis[]): OccurrenceChange[] =>
  say.length === 0 ? [] : [{ do: 'say', occurrenceId: open.id, say }]

/** Something other than the month asks for it: a finding or a situation at once, use in a month that is settled. */
function asksBesides({ governing }: Outlook, settled: boolean): boolean {
  if (governing === null || governing.trigger === 'calendar_month') return false
  return settled || governing.trigger === 'finding' || governing.trigger === 'situation'
}

function endedReason(
  open: OpenOccurrence,
  outlook: Outlook,
  month: MonthDays,
  settled: boolean,
): { reason: string; missed: boolean } | null {
  if ((open.kind === 'wake_up' ? open.openedOn : open.nominalOn) < month.first)
    return open.kind === 'first_look'
      ? { reason: 'First look not made; the list of the month asks for it.', missed: false }
      : { reason: 'Not done in its month.', missed: open.kind === 'monthly' }
  if (settled && outlook.last !== null && outlook.last.doneOn >= open.openedOn) return { reason: 'Done meanwhile.', missed: false }
  return open.kind !== 'wake_up' && asksBesides(outlook, settled) ? { reason: 'Something else asks for it sooner.', missed: false } : null
}

export function monthlyChanges(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  open: OpenOccurrence | null,
  sequenceAfter: number,
): OccurrenceChange[] {
  const month = monthDays(context.fleet.table, context.input.today, careOf(task))
  const { last } = outlook
  const skippedOn = skippedSince(context, task, last)?.endedOn ?? null
  const settled = (last !== null && last.doneOn >= month.first) || (skippedOn !== null && skippedOn >= month.first)
  if (open && LISTED.has(open.kind)) {
    const ended = endedReason(open, outlook, month, settled)
    if (ended === null && open.kind === 'wake_up') return regularChanges(context, task, outlook, open, sequenceAfter)
    if (ended === null) return listedChanges(context, open, month)
    return [
      supersede(open, ended.reason, ended.missed),
      ...afresh(context, task, outlook, { month, settled, sequenceAfter: open.sequence }),
    ]
  }
  if (!open) return afresh(context, task, outlook, { month, settled, sequenceAfter })
  // One that use, a finding or a situation opened stands for the month as well, as long as its cause holds.
  const { governing } = outlook
  if (open.kind === 'put_off' || (governing !== null && governing.trigger !== 'calendar_month'))
    return regularChanges(context, task, outlook, open, sequenceAfter)
  return [supersede(open, 'No longer due.'), ...afresh(context, task, outlook, { month, settled, sequenceAfter: open.sequence })]
}

function afresh(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  { month, settled, sequenceAfter }: { month: MonthDays; settled: boolean; sequenceAfter: number },
): OccurrenceChange[] {
  const wakeUp = wakeUpDates(context, task, outlook)
  // A list of an earlier month has become this month's.
  if (wakeUp && wakeUp.nominalOn >= month.first)
    return [openNew(context, task, wakeUp, { sequenceAfter, safetyFinding: outlook.governing?.findingSafety === true })]
  if (asksBesides(outlook, settled)) return regularChanges(context, task, outlook, null, sequenceAfter)
  if (!settled) {
    const dates = datesThisMonth(context, task, outlook, month)
    if (dates) {
      const opened = openNew(context, task, dates, { sequenceAfter })
      return [{ ...opened, say: sayMonthly(context, month, null) } as OccurrenceChange]
    }
  }
  const { governing } = outlook
  return governing?.trigger === 'usage' ? regularChanges(context, task, outlook, null, sequenceAfter) : []
}
