/** What becomes of a task that has windows and limits: everything but the monthly list. */
import { chanceDueBy } from '../combine/first-due.js'
import { careOf } from '../calendar/day-table.js'
import type { OccurrenceChange, OpenOccurrence, PlanTask } from '../model.js'
import { opensToday } from '../rules/shift.js'
import { changesFor, openNew, sayOnly } from './changes.js'
import type { MachineContext } from './context.js'
import { datesOf, type OccurrenceDates } from './dates.js'
import type { Outlook } from './outlook.js'
import { wakeUpDates } from './wake-up.js'

export function supersede(open: OpenOccurrence, reason: string, missed = false): OccurrenceChange {
  return { do: 'supersede', occurrenceId: open.id, reason, missed }
}

/** A put-off occurrence keeps the dates that a person gave it; one of a wake-up list waits for its answer. */
function heldChanges(
  context: MachineContext,
  task: PlanTask,
  open: OpenOccurrence,
  dates: OccurrenceDates | null,
  safetyFinding: boolean,
): OccurrenceChange[] {
  const neverLate = open.kind === 'wake_up'
  return sayOnly(context, task, open, {
    care: careOf(task),
    neverLate,
    urgentAllowed: !neverLate && (dates?.urgentAllowed ?? true),
    safetyFinding,
  })
}

/**
 * Chance of falling due within the lead at which it opens. At the early date's 10 % the first word would come too late in
 * one case of ten, since that is what 10 % means; the lead is to be enough in at least 95 of 100.
 */
const OPENING_CHANCE = 0.025

/**
 * Opens by rule 8: by its early date, its shifted date, or the limit that comes before both after a skip; and where the lead
 * might otherwise be too short.
 */
function opensNow(context: MachineContext, task: PlanTask, outlook: Outlook, dates: OccurrenceDates): boolean {
  const { input, usage } = context
  const early = dates.kind === 'wake_up' ? dates.dueOn : (outlook.range.early ?? dates.dueOn)
  if (opensToday(input.today, early, dates.dueOn, input.leadDays, task.partsLeadDays)) return true
  if (dates.kind === 'wake_up' || !outlook.moments.some(({ moment }) => moment.kind !== 'day')) return false
  const lead = Math.max(input.leadDays, task.partsLeadDays)
  const moments = outlook.moments.map(({ moment }) => moment)
  return chanceDueBy(usage, moments, input.today + lead) >= OPENING_CHANCE
}

/** @param sequenceAfter number of an occurrence that ended in this pass; 0: none */
export function openIfTime(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  dates: OccurrenceDates | null,
  sequenceAfter: number,
): OccurrenceChange[] {
  if (dates === null || !opensNow(context, task, outlook, dates)) return []
  return [openNew(context, task, dates, { sequenceAfter, safetyFinding: outlook.governing?.findingSafety === true })]
}

export function regularChanges(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  open: OpenOccurrence | null,
  sequenceAfter: number,
): OccurrenceChange[] {
  const dates = wakeUpDates(context, task, outlook) ?? datesOf(context, outlook)
  if (!open) return openIfTime(context, task, outlook, dates, sequenceAfter)
  const again = (reason: string): OccurrenceChange[] => [
    supersede(open, reason),
    ...openIfTime(context, task, outlook, dates, open.sequence),
  ]
  if (outlook.last !== null && outlook.last.doneOn > open.openedOn) return again('Done meanwhile.')
  const safetyFinding = outlook.governing?.findingSafety === true
  if (open.kind === 'put_off' || open.kind === 'wake_up') return heldChanges(context, task, open, dates, safetyFinding)
  if (dates === null) return [supersede(open, 'No longer due.')]
  if (dates.kind === 'wake_up' || (open.kind === 'first_look') !== (dates.kind === 'first_look')) return again('Asked for in another way.')
  return changesFor(context, task, dates, open, safetyFinding)
}
