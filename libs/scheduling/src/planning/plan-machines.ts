/**
 * The planner: evidence of use, last care, findings and the calendar in; dates and what becomes of occurrences out.
 * Pure: the same input gives the same output, and its own output applied gives no further change on the same day.
 */
import type { MachinePlan, MachineToPlan, OccurrenceChange, OpenOccurrence, PlanTask, TaskForecast } from '../model.js'
import { hasCalendarMonth } from '../rules/monthly.js'
import { type MachineContext, machineContext, type PlanningContext, preparePlanning } from './context.js'
import type { PlanningInput } from './input.js'
import { monthlyChanges } from './monthly-changes.js'
import { emptyForecast, notInService } from './not-in-service.js'
import { type Outlook, outlookOf } from './outlook.js'
import { regularChanges, supersede } from './regular-changes.js'

export function planMachines(input: PlanningInput): MachinePlan[] {
  const context = preparePlanning(input)
  return input.machines.map((machine) => planInContext(context, machine))
}

/** One of the context's machines; its broken data stops no other. */
export function planInContext(context: PlanningContext, machine: MachineToPlan): MachinePlan {
  try {
    return planMachine(machineContext(context, machine))
  } catch (error) {
    const problem = error instanceof Error ? error.message : String(error)
    const tasks = context.input.tasksByType[machine.machineTypeId] ?? []
    return {
      machineId: machine.machineId,
      forecasts: tasks.map((task) => emptyForecast(task, 'cannot_be_computed', problem)),
      changes: [],
      problem,
    }
  }
}

function planMachine(context: MachineContext): MachinePlan {
  const { machine, tasks } = context
  if (machine.status !== 'in_service') return notInService(context)
  const forecasts: TaskForecast[] = []
  const changes: OccurrenceChange[] = supersedeForeign(context)
  for (const task of tasks) {
    const outlook = outlookOf(context, task)
    forecasts.push(forecastOf(outlook))
    changes.push(...taskChanges(context, task, outlook))
  }
  return { machineId: machine.machineId, forecasts, changes, problem: null }
}

/** Occurrences of tasks that the plan no longer has. */
function supersedeForeign({ machine, tasks }: MachineContext): OccurrenceChange[] {
  const known = new Set(tasks.map(({ serviceTaskId }) => serviceTaskId))
  return Object.entries(machine.open)
    .filter(([taskId]) => !known.has(taskId))
    .map(([, open]) => supersede(open, 'No longer in the service plan.'))
}

function forecastOf(outlook: Outlook): TaskForecast {
  const { task, range, governing, noLaterThan } = outlook
  if (governing === null || range.likely === null) {
    const beyond = governing !== null ? 'Further ahead than five years at the present use.' : outlook.reason
    return { ...emptyForecast(task, 'no_date', beyond), noLaterThan, governing: governing?.trigger ?? null, basis: governing?.basis ?? {} }
  }
  return {
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    state: outlook.firstLook ? 'first_look' : 'dated',
    earlyOn: range.early,
    likelyOn: range.likely,
    lateOn: range.late,
    noLaterThan,
    governing: governing.trigger,
    basis: governing.basis,
    reason: null,
  }
}

/** Rule 2: moving a component, or taking it out, supersedes the open occurrences of its tasks. */
function movedAway({ machine }: MachineContext, task: PlanTask, open: OpenOccurrence): boolean {
  if (open.componentId === null || task.componentKey === null) return false
  return machine.components.find(({ componentKey }) => componentKey === task.componentKey)?.componentId !== open.componentId
}

function taskChanges(context: MachineContext, task: PlanTask, outlook: Outlook): OccurrenceChange[] {
  const open = context.machine.open[task.serviceTaskId] ?? null
  const changes = hasCalendarMonth(task) ? monthlyChanges : regularChanges
  if (!open || !movedAway(context, task, open)) return changes(context, task, outlook, open, 0)
  return [supersede(open, 'The component was moved or replaced.'), ...changes(context, task, outlook, null, open.sequence)]
}
