/** Triggers that something sets off: a finding, a situation, a peak that is coming. */
import { openDayBefore } from '../calendar/day-table.js'
import type { Day, LastDone, PlanTask } from '../model.js'
import { dateOf } from '../time/day.js'
import { componentOf } from './baseline.js'
import type { MachineContext } from './context.js'
import type { TriggerMoment } from './moments.js'

/** Where a finding names neither a day nor days (assumption). */
export const FINDING_WITHIN_DAYS = 14
/** Days before a peak in which care for it counts as done for it. */
export const BEFORE_PEAK_DAYS = 28

type Finding = MachineContext['machine']['findings'][number]

/** The day it asks for, and whether that day is itself the limit (a worn part: 'no later than'). */
function findingDay({ foundOn, dueOn, withinDays, safety }: Finding, noLaterThan: Day | null): { day: Day; isLimit: boolean } {
  if (dueOn !== null) return { day: dueOn, isLimit: false }
  if (withinDays !== null) return { day: foundOn + withinDays, isLimit: false }
  if (noLaterThan !== null) return { day: Math.max(foundOn, noLaterThan), isLimit: true }
  return { day: safety ? foundOn : foundOn + FINDING_WITHIN_DAYS, isLimit: false }
}

/** A safety finding that names no task falls to the machine's own look at cord, covers and guard. */
function asksFor({ tasks }: MachineContext, task: PlanTask, { serviceTaskId, safety }: Finding): boolean {
  if (serviceTaskId !== null) return serviceTaskId === task.serviceTaskId
  if (!safety) return false
  const checks = tasks.filter(({ safetyCheck }) => safetyCheck)
  return (checks.find(({ reach }) => reach === 'outside') ?? checks[0])?.serviceTaskId === task.serviceTaskId
}

/** Findings that ask for this task; one on a worn part without a date of its own is dated 'no later than' (rule 15). */
export function findingMoments(
  context: MachineContext,
  task: PlanTask,
  { last, noLaterThan, skippedOn }: { last: LastDone | null; noLaterThan: Day | null; skippedOn: Day | null },
): TriggerMoment[] {
  return context.machine.findings
    .filter((finding) => asksFor(context, task, finding) && (last === null || finding.foundOn >= last.doneOn))
    .filter(({ foundOn }) => skippedOn === null || foundOn > skippedOn)
    .map((finding) => {
      const { day, isLimit } = findingDay(finding, noLaterThan)
      return {
        trigger: 'finding',
        moment: { kind: 'day', day },
        lengthDays: null,
        ...(isLimit ? { hardLimitOn: day } : {}),
        findingSafety: finding.safety,
        basis: { foundOn: dateOf(finding.foundOn), finding: finding.text, dueOn: dateOf(day) },
      }
    })
}

const dueAt = (situation: string, happenedOn: Day, day: Day): TriggerMoment => ({
  trigger: 'situation',
  moment: { kind: 'day', day },
  lengthDays: null,
  basis: { situation, happenedOn: dateOf(happenedOn), dueOn: dateOf(day) },
})

/** Of two kinds of brush set, 'brushes replaced' concerns the tasks of the one that was fitted that day. */
function concerns(context: MachineContext, task: PlanTask, kind: string, on: Day): boolean {
  if (kind !== 'brushes_replaced') return true
  const set = componentOf(context, task.componentKey)
  return set === null || set.fittedOn === null || set.fittedOn === on
}

function peakMoments({ input, fleet }: MachineContext, last: LastDone | null, skippedOn: Day | null): TriggerMoment[] {
  const peak = [...input.calendar.peaks].sort((a, b) => a.from - b.from).find(({ to }) => to >= input.today)
  if (!peak) return []
  const from = peak.from - BEFORE_PEAK_DAYS
  if ((last !== null && last.doneOn >= from) || (skippedOn !== null && skippedOn >= from)) return []
  const day = openDayBefore(fleet.table, peak.from - 1, 'long', from) ?? peak.from - 1
  return [dueAt('before_peak', peak.from, day)]
}

/** Once when something happens, then back to its rhythm. */
export function situationMoments(context: MachineContext, task: PlanTask, last: LastDone | null, skippedOn: Day | null): TriggerMoment[] {
  const wanted = new Set(task.triggers.flatMap((trigger) => (trigger.kind === 'situation' ? [trigger.situation] : [])))
  if (wanted.size === 0) return []
  const happened = context.machine.situations
    .filter(({ kind, on }) => wanted.has(kind) && (last === null || on > last.doneOn) && (skippedOn === null || on > skippedOn))
    .filter(({ kind, on }) => concerns(context, task, kind, on))
    .map(({ kind, on }) => dueAt(kind, on, on))
  return wanted.has('before_peak') ? [...happened, ...peakMoments(context, last, skippedOn)] : happened
}
