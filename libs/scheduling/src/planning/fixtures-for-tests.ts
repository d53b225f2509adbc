/** A machine to plan with and what it did, for tests; its warehouse and tasks are those of plans-for-tests. */
import type { Trigger } from '@tapewarden/shared'
import type { LastDone, MachineToPlan, MachineTypeFacts, PlanTask, UsageInterval } from '../model.js'
import { dayOf } from '../time/day.js'
import type { PlanningInput } from './input.js'
import { smallCare, taskOf, TYPE, WORKED_CASES_CALENDAR } from './plans-for-tests.js'

export const FACTS: MachineTypeFacts = {
  ...TYPE,
  feedSpeedMPerMin: 60,
  startUpSecondsPerStrip: 0.25,
  mostStripsPerMinute: 40,
  brushNewMm: 12.7,
  stripsFromNewToPlanLimit: 400_000,
}

export const planTask = (triggers: Trigger[], more: Partial<PlanTask> = {}): PlanTask =>
  taskOf(more.key ?? 'task', triggers, { name: 'Task', minutes: 10, ...more })

export const felt = (more: Partial<PlanTask> = {}): PlanTask => smallCare('felt', undefined, { name: 'Task', ...more })

export const doneOn = (date: string, more: Partial<LastDone> = {}): LastDone => ({
  doneOn: dayOf(date),
  anchorOn: dayOf(date),
  anchorSteps: 0,
  stripsTotal: null,
  ...more,
})

export function machineToPlan(more: Partial<MachineToPlan> = {}): MachineToPlan {
  return {
    machineId: 'machine',
    machineTypeId: 'type',
    status: 'in_service',
    statusSince: dayOf('2024-01-01'),
    registeredOn: dayOf('2024-01-01'),
    commissionedOn: null,
    line: 'A',
    walkingOrder: 1,
    stripsTotal: 0,
    hasCounter: true,
    usage: [],
    lastDone: {},
    open: {},
    sequences: {},
    newest: {},
    skipped: {},
    components: [],
    findings: [],
    situations: [],
    ...more,
  }
}

/** `perDay` strips on each working day of from..to, told by a counter each day. */
export function dailyUse(from: string, to: string, perDay: number): UsageInterval[] {
  const out: UsageInterval[] = []
  for (let day = dayOf(from); day <= dayOf(to); day++) {
    const weekday = ((day + 3) % 7) + 1
    if (weekday <= 5) out.push({ from: day, to: day, strips: perDay, kind: 'counter', relativeError: 0 })
  }
  return out
}

export function planningInput(
  today: string,
  tasks: readonly PlanTask[],
  machines: readonly MachineToPlan[],
  more: Partial<PlanningInput> = {},
): PlanningInput {
  return {
    today: dayOf(today),
    calendar: WORKED_CASES_CALENDAR,
    leadDays: 7,
    types: { type: FACTS },
    tasksByType: { type: tasks },
    machines,
    life: {},
    ...more,
  }
}
