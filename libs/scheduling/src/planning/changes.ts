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
    said.push(
      ...(['first', 'second'] as const).map((told): SayThis => ({ stage: 'first_look_missed', told, sayOn: today, class: 'digest' })),
    )
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

/** One of the few causes of an urgent mail; said once. */
function urgentFinding({ input }: MachineContext, open: OpenOccurrence | null, safetyFinding: boolean): SayThis[] {
  if (!safetyFinding || (open?.saidStages.includes('safety_finding') ?? false)) return []
  return [{ stage: 'safety_finding', told: 'first', sayOn: input.today, class: 'urgent' }]
}

export function openNew(
  context: MachineContext,
  task: PlanTask,
  dates: OccurrenceDates,
  more: { sequenceAfter?: number; safetyFinding?: boolean } = {},
): OccurrenceChange {
  const componentId = context.machine.components.find(({ componentKey }) => componentKey === task.componentKey)?.componentId ?? null
  const say = [...sayOf(context, task, dates, null), ...urgentFinding(context, null, more.safetyFinding === true)]
  const sequence = Math.max(context.machine.sequences[task.serviceTaskId] ?? 0, more.sequenceAfter ?? 0) + 1
  return {
    do: 'open',
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    sequence,
    kind: dates.kind,
    componentId,
    ...dated(dates),
    say,
  }
}

/** Lateness counts from the later of the window's end and the message that the date is earlier than said (rule 12). */
const afterMessage = (lateFrom: Day | null, open: OpenOccurrence): Day | null =>
  lateFrom === null || open.saidOn === null || !open.saidStages.includes('earlier_than_said')
    ? lateFrom
    : Math.max(lateFrom, open.saidOn + 1)

/** What was fixed when it opened stays: the shifted day and the start of lateness that followed from it (rule 9). */
function keepFixed(dates: OccurrenceDates, open: OpenOccurrence): OccurrenceDates {
  const lateFrom = afterMessage(dates.lateFrom, open)
  if (open.nominalOn !== dates.nominalOn || open.governing !== dates.governing) return { ...dates, lateFrom }
  return { ...dates, dueOn: open.dueOn, lateFrom: open.lateFrom ?? lateFrom }
}

/**
 * A forecast that only says 'not yet' because the part has lasted until today moves no open date later: that takes a
 * new measurement (wear), or a new record of the part (life).
 */
function holdsBack(context: MachineContext, task: PlanTask, dates: OccurrenceDates, open: OpenOccurrence): boolean {
  if (dates.governing !== open.governing || dates.nominalOn <= open.nominalOn) return false
  if (dates.governing !== 'wear') return false
  const part = context.machine.components.find(({ componentKey }) => componentKey === task.componentKey)
  return !(part?.lengths.some(({ on }) => on >= open.openedOn) ?? false)
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
  if (holdsBack(context, task, fresh, open)) return sayOnly(context, task, open, { ...fresh, safetyFinding })
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
    const other = sayOf(context, task, counted, open).filter(({ stage }) => stage !== 'coming_due' && stage !== 'due')
    const say = [...other, ...urgentFinding(context, open, safetyFinding)]
    return [
      {
        do: 'redate',
        occurrenceId: open.id,
        ...dated(counted),
        say: [{ stage: 'earlier_than_said', told: 'first', sayOn: today, class: 'digest' }, ...say],
      },
    ]
  }
  const say = [...sayOf(context, task, dates, open), ...urgentFinding(context, open, safetyFinding)]
  if (moved === 'silently') return [{ do: 'redate', occurrenceId: open.id, ...dated(dates), say }]
  return say.length === 0 ? [] : [{ do: 'say', occurrenceId: open.id, say }]
}

/** The occurrence keeps its dates, which a person gave it or which opened with it; only what is to be said follows the calendar. */
export function sayOnly(
  context: MachineContext,
  task: PlanTask,
  open: OpenOccurrence,
  held: Pick<OccurrenceDates, 'care' | 'neverLate' | 'urgentAllowed'> & { safetyFinding: boolean },
): OccurrenceChange[] {
  const { safetyFinding, care, neverLate, urgentAllowed } = held
  const { kind, nominalOn, windowFrom, windowTo, hardLimitOn, dueOn, lateFrom, governing } = open
  const dates = {
    kind,
    nominalOn,
    windowFrom,
    windowTo,
    hardLimitOn,
    dueOn,
    lateFrom,
    governing,
    care,
    neverLate,
    urgentAllowed,
    needsPerson: false,
    basis: {},
  }
  const say = [...sayOf(context, task, dates, open), ...urgentFinding(context, open, safetyFinding)]
  return say.length === 0 ? [] : [{ do: 'say', occurrenceId: open.id, say }]
}
