/** What becomes of a task's open occurrence: opened, dated anew, superseded, or only spoken of (rules 8, 10, 12). */
import type { Day, OccurrenceChange, OpenOccurrence, PlanTask, SayThis } from '../model.js'
import { isoWeekday } from '../time/day.js'
import { type Standing, sayToday } from '../rules/escalation.js'
import { opensToday } from '../rules/shift.js'
import type { MachineContext } from './context.js'
import type { OccurrenceDates } from './dates.js'

/** Days by which a date must move earlier before it is said once more, as 'earlier than we said' (rule 12). */
export const EARLIER_SAID_AFTER_DAYS = 7

function standingOf(dates: OccurrenceDates, task: PlanTask, open: OpenOccurrence | null): Standing {
  return {
    care: dates.care,
    dueOn: dates.dueOn,
    lateFrom: dates.lateFrom,
    hardLimitOn: dates.hardLimitOn,
    safetyCheck: task.safetyCheck,
    neverLate: dates.neverLate,
    saidStages: open?.saidStages ?? [],
    underWaySince: open?.underWaySince ?? null,
    lastEntryOn: open?.lastEntryOn ?? null,
    urgentAllowed: dates.urgentAllowed,
  }
}

/** Coming due, due, late and passed on; a first look that its week has passed by is said as missed, never as late. */
function sayOf(context: MachineContext, task: PlanTask, dates: OccurrenceDates, open: OpenOccurrence | null): SayThis[] {
  const { today } = context.input
  const said = sayToday(context.fleet.table, today, standingOf(dates, task, open))
  const week = dates.dueOn + 7 - isoWeekday(dates.dueOn)
  if (dates.kind === 'first_look' && today > week && !(open?.saidStages ?? []).includes('first_look_missed'))
    said.push({ stage: 'first_look_missed', told: 'second', sayOn: today, class: 'digest' })
  return said
}

const dated = (
  dates: OccurrenceDates,
): Pick<
  OccurrenceDates,
  'nominalOn' | 'windowFrom' | 'windowTo' | 'hardLimitOn' | 'dueOn' | 'lateFrom' | 'needsPerson' | 'governing' | 'basis'
> => ({
  nominalOn: dates.nominalOn,
  windowFrom: dates.windowFrom,
  windowTo: dates.windowTo,
  hardLimitOn: dates.hardLimitOn,
  dueOn: dates.dueOn,
  lateFrom: dates.lateFrom,
  needsPerson: dates.needsPerson,
  governing: dates.governing,
  basis: dates.basis,
})

export function openNew(
  context: MachineContext,
  task: PlanTask,
  dates: OccurrenceDates,
  more: { sequenceAfter?: number; safetyFinding?: boolean } = {},
): OccurrenceChange {
  const componentId = context.machine.components.find(({ componentKey }) => componentKey === task.componentKey)?.componentId ?? null
  const say = sayOf(context, task, dates, null)
  const urgent: SayThis[] = more.safetyFinding
    ? [{ stage: 'safety_finding', told: 'first', sayOn: context.input.today, class: 'urgent' }]
    : []
  const sequence = Math.max(context.machine.sequences[task.serviceTaskId] ?? 0, more.sequenceAfter ?? 0) + 1
  return {
    do: 'open',
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    sequence,
    kind: dates.kind,
    componentId,
    ...dated(dates),
    say: [...say, ...urgent],
  }
}

/** Dates of an open occurrence that keep what was fixed when it opened: the shifted day, and a later start of lateness. */
function keepFixed(dates: OccurrenceDates, open: OpenOccurrence): OccurrenceDates {
  if (open.nominalOn !== dates.nominalOn || open.governing !== dates.governing) return dates
  const saidEarlier = open.saidStages.includes('earlier_than_said')
  const lateFrom =
    saidEarlier && open.lateFrom !== null && dates.lateFrom !== null ? Math.max(open.lateFrom, dates.lateFrom) : dates.lateFrom
  // Fixed when it opened: what the shift made of the nominal date then, not what it would make of it today.
  const fixedLate = saidEarlier ? lateFrom : (open.lateFrom ?? lateFrom)
  return { ...dates, dueOn: open.dueOn, lateFrom: fixedLate, needsPerson: dates.needsPerson }
}

const sameDates = (dates: OccurrenceDates, open: OpenOccurrence): boolean =>
  open.nominalOn === dates.nominalOn &&
  open.windowFrom === dates.windowFrom &&
  open.windowTo === dates.windowTo &&
  open.hardLimitOn === dates.hardLimitOn &&
  open.dueOn === dates.dueOn &&
  open.lateFrom === dates.lateFrom &&
  open.governing === dates.governing

type Moved = 'same' | 'silently' | 'earlier' | 'later'

/** Rule 12. */
function howMoved(dates: OccurrenceDates, open: OpenOccurrence, today: Day, leadDays: number): Moved {
  if (sameDates(dates, open)) return 'same'
  if (open.saidOn === null || open.saidDueOn === null) return 'silently'
  const intoPast = dates.dueOn < today && open.saidDueOn >= today
  if ((dates.dueOn < open.saidDueOn - EARLIER_SAID_AFTER_DAYS || intoPast) && !open.saidStages.includes('earlier_than_said'))
    return 'earlier'
  const dueWasSaid = open.saidStages.some((stage) => stage === 'due' || stage === 'late')
  return dueWasSaid && dates.dueOn > Math.max(open.dueOn, today) + leadDays ? 'later' : 'silently'
}

export function changesFor(
  context: MachineContext,
  task: PlanTask,
  fresh: OccurrenceDates,
  open: OpenOccurrence,
  safetyFinding: boolean,
): OccurrenceChange[] {
  const { today, leadDays } = context.input
  const dates = keepFixed(fresh, open)
  const moved = howMoved(dates, open, today, leadDays)
  if (moved === 'later') {
    const changes: OccurrenceChange[] = [{ do: 'supersede', occurrenceId: open.id, reason: 'The forecast moved later.', missed: false }]
    if (opensToday(today, dates.dueOn, dates.dueOn, leadDays, task.partsLeadDays))
      changes.push(openNew(context, task, dates, { sequenceAfter: open.sequence, safetyFinding }))
    return changes
  }
  if (moved === 'earlier') {
    const counted: OccurrenceDates = { ...dates, lateFrom: dates.lateFrom === null ? null : Math.max(dates.lateFrom, today + 1) }
    const say = sayOf(context, task, counted, open).filter(({ stage }) => stage !== 'coming_due' && stage !== 'due')
    return [
      {
        do: 'redate',
        occurrenceId: open.id,
        ...dated(counted),
        say: [{ stage: 'earlier_than_said', told: 'first', sayOn: today, class: 'digest' }, ...say],
      },
    ]
  }
  const say = sayOf(context, task, dates, open)
  if (moved === 'silently') return [{ do: 'redate', occurrenceId: open.id, ...dated(dates), say }]
  return say.length === 0 ? [] : [{ do: 'say', occurrenceId: open.id, say }]
}

/** A put-off occurrence keeps the dates that a person gave it; only what is to be said follows the calendar. */
export function sayOnly(
  context: MachineContext,
  task: PlanTask,
  open: OpenOccurrence,
  dates: Pick<OccurrenceDates, 'care' | 'neverLate' | 'urgentAllowed'>,
): OccurrenceChange[] {
  const held: OccurrenceDates = {
    ...dates,
    kind: open.kind,
    nominalOn: open.nominalOn,
    windowFrom: open.windowFrom,
    windowTo: open.windowTo,
    hardLimitOn: open.hardLimitOn,
    dueOn: open.dueOn,
    lateFrom: open.lateFrom,
    needsPerson: false,
    governing: open.governing,
    basis: {},
  }
  const say = sayOf(context, task, held, open)
  return say.length === 0 ? [] : [{ do: 'say', occurrenceId: open.id, say }]
}
