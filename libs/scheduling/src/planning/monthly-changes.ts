/** Rule 6 in the pass: the month's occurrence opens on its first working day, is said in the list, and is missed on the 1st. */
import type { OccurrenceChange, OpenOccurrence, PlanTask, SayThis } from '../model.js'
import { careOf, openDayAfter } from '../calendar/day-table.js'
import { smallCareDueOn, safetyLookDueOn } from '../rules/first-look.js'
import { lastWeekSaidOn, type MonthDays, monthDays } from '../rules/monthly.js'
import { addMonthsClamped, dateOf, firstOfMonth } from '../time/day.js'
import type { MachineContext } from './context.js'
import type { OccurrenceDates } from './dates.js'
import { changesFor, openNew } from './changes.js'
import { lastDoneOf } from './moments.js'
import type { Outlook } from './outlook.js'
import { datesOf } from './dates.js'
import { opensToday } from '../rules/shift.js'

/** Months running without an answer after which a safety look says 'do not use' (rule 7). */
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

/** First time on a machine whose past is not known: small care within four weeks by line, the safety look in the first week. */
export function firstSmallCareOn({ machine, fleet }: MachineContext, task: PlanTask): number {
  return task.safetyCheck
    ? safetyLookDueOn(fleet.table, machine.registeredOn)
    : smallCareDueOn(fleet.table, machine.registeredOn, machine.line)
}

function sayMonthly(context: MachineContext, month: MonthDays, open: OpenOccurrence | null): SayThis[] {
  const { today } = context.input
  const said = new Set(open?.saidStages ?? [])
  const lastWeek = lastWeekSaidOn(context.fleet.table, month)
  const inLastWeek = lastWeek !== null && today >= lastWeek
  if (!said.has('month_list')) return [{ stage: 'month_list', told: 'first', sayOn: today, class: 'digest' }]
  return inLastWeek && !said.has('month_last_week') && (open?.openedOn ?? today) < lastWeek
    ? [{ stage: 'month_last_week', told: 'first', sayOn: today, class: 'digest' }]
    : []
}

export function monthlyChanges(context: MachineContext, task: PlanTask, outlook: Outlook, open: OpenOccurrence | null): OccurrenceChange[] {
  const { input, fleet, machine } = context
  const month = monthDays(fleet.table, input.today)
  const changes: OccurrenceChange[] = []
  let current = open
  if (current && current.windowTo < month.first && (current.kind === 'monthly' || current.kind === 'first_look')) {
    changes.push({ do: 'supersede', occurrenceId: current.id, reason: 'Not done in its month.', missed: true })
    current = null
  }
  const { last } = lastDoneOf(context, task)
  const settled = last !== null && last.doneOn >= month.first
  const urgentMoment = outlook.governing !== null && outlook.governing.trigger !== 'calendar_month'
  if (settled || (urgentMoment && outlook.governing?.trigger !== 'usage'))
    return [...changes, ...furtherOccurrence(context, task, outlook, current, open?.sequence ?? 0)]
  const dates = datesThisMonth(context, task, outlook, month)
  if (dates === null) return changes
  if (current) {
    const say = sayMonthly(context, month, current)
    if (say.length > 0) changes.push({ do: 'say', occurrenceId: current.id, say })
    return changes
  }
  const opened = openNew(context, task, dates, { sequenceAfter: open?.sequence ?? machine.sequences[task.serviceTaskId] ?? 0 })
  return [...changes, { ...opened, say: sayMonthly(context, month, null) } as OccurrenceChange]
}

/** The month's own dates once it has begun; those of the first time where the past is not known; null: nothing to ask yet. */
function datesThisMonth(context: MachineContext, task: PlanTask, outlook: Outlook, month: MonthDays): OccurrenceDates | null {
  const { today, leadDays } = context.input
  const { machine } = context
  const dates = monthDates(context, task, month, outlook)
  if (outlook.last === null) {
    const firstOn = firstSmallCareOn(context, task)
    const firstMonth = monthDays(context.fleet.table, firstOn)
    if (firstMonth.first > month.first) return null
    if (firstMonth.first === month.first) {
      if (!opensToday(today, firstOn, firstOn, leadDays, 0)) return null
      return {
        ...dates,
        kind: 'first_look',
        nominalOn: firstOn,
        dueOn: firstOn,
        windowFrom: machine.registeredOn,
        basis: { ...dates.basis, firstLook: true, dueOn: dateOf(firstOn) },
      }
    }
  } else if (
    machine.registeredOn >= month.first &&
    openDayAfter(context.fleet.table, month.first, 'round', machine.registeredOn - 1) !== null
  )
    return null
  return month.opensOn !== null && today >= month.opensOn ? dates : null
}

/** A further trigger of the same task reached in a settled month, or a finding, opens an occurrence of its own. */
function furtherOccurrence(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  open: OpenOccurrence | null,
  sequenceAfter: number,
): OccurrenceChange[] {
  const { governing } = outlook
  if (governing === null || governing.trigger === 'calendar_month') return []
  const dates = datesOf(context, outlook)
  if (dates === null) return []
  if (open) return changesFor(context, task, dates, open, governing.findingSafety === true)
  const { today, leadDays } = context.input
  if (!opensToday(today, outlook.range.early ?? dates.dueOn, dates.dueOn, leadDays, task.partsLeadDays)) return []
  return [openNew(context, task, dates, { sequenceAfter, safetyFinding: governing.findingSafety === true })]
}
