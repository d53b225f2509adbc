/** From which day a task's clocks run (rules 2 and 18): its last record, else the day on which part or machine was new. */
import type { Trigger } from '@tapewarden/shared'
import type { ComponentInPlace, Day, LastDone, PlanTask, SkippedOccurrence } from '../model.js'
import { nextPoint } from '../rules/points.js'
import { dateOf } from '../time/day.js'
import type { MachineContext } from './context.js'

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>
export const calendarTrigger = (task: PlanTask): CalendarTrigger | undefined =>
  task.triggers.find((trigger): trigger is CalendarTrigger => trigger.kind === 'calendar')

export function componentOf({ machine }: Pick<MachineContext, 'machine'>, key: string | null): ComponentInPlace | null {
  return key === null ? null : (machine.components.find(({ componentKey }) => componentKey === key) ?? null)
}

/** A day so near before registration counts as new at registration, days. */
export const NEW_WITHIN_DAYS = 31

const fresh = (day: Day, stripsTotal: number | null, isNew: 'machine' | 'part'): LastDone => ({
  doneOn: day,
  anchorOn: day,
  anchorSteps: 0,
  stripsTotal,
  isNew,
})

/** What was new on `day` counts from it where nothing could have fallen due before anybody wrote records here. */
function countsFrom(task: PlanTask, day: Day, registeredOn: Day): boolean {
  if (day >= registeredOn - NEW_WITHIN_DAYS) return true
  const trigger = calendarTrigger(task)
  return trigger !== undefined && nextPoint(trigger, { anchorOn: day, anchorSteps: 0 }, day).nominalOn > registeredOn
}

function ofNewPart({ machine }: MachineContext, task: PlanTask, part: ComponentInPlace | null): LastDone | null {
  if (!part || part.newOn === null || !countsFrom(task, part.newOn, machine.registeredOn)) return null
  return fresh(part.newOn, part.stripsTotalAtFitting === null ? null : part.stripsTotalAtFitting - part.usedStripsBefore, 'part')
}

function ofNewMachine({ machine }: MachineContext, task: PlanTask): LastDone | null {
  const { commissionedOn, registeredOn } = machine
  if (commissionedOn === null || !countsFrom(task, commissionedOn, registeredOn)) return null
  return fresh(commissionedOn, commissionedOn >= registeredOn - NEW_WITHIN_DAYS ? 0 : null, 'machine')
}

/** A part put in after the machine was registered has a history of its own, known or not; the machine's age says nothing of it. */
const fittedLater = (part: ComponentInPlace | null, registeredOn: Day): boolean =>
  part !== null && part.fittedOn !== null && part.fittedOn > registeredOn

/** The day from which a date counts, for its why-sentence. */
export const sinceBasis = ({ doneOn, isNew }: LastDone): { lastDoneOn: string; isNew?: string } => ({
  lastDoneOn: dateOf(doneOn),
  ...(isNew ? { isNew } : {}),
})

/** null: nothing is known of the last time. */
export function lastDoneOf(context: MachineContext, task: PlanTask): LastDone | null {
  const recorded = context.machine.lastDone[task.serviceTaskId]
  if (recorded) return recorded
  const part = componentOf(context, task.componentKey)
  return ofNewPart(context, task, part) ?? (fittedLater(part, context.machine.registeredOn) ? null : ofNewMachine(context, task))
}

/** What a person skipped, and nothing was done since (rule 13); null: nothing. */
export function skippedSince({ machine }: MachineContext, task: PlanTask, last: LastDone | null): SkippedOccurrence | null {
  const skipped = machine.skipped[task.serviceTaskId]
  return skipped === undefined || (last !== null && last.doneOn > skipped.endedOn) ? null : skipped
}
