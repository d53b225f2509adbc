/**
 * The planner: evidence of use, last care, findings and the calendar in; dates and what becomes of occurrences out.
 * Pure: the same input gives the same output, and its own output applied gives no further change on the same day.
 */
import { careOf } from '../calendar/day-table.js'
import type { MachinePlan, MachineToPlan, OccurrenceChange, OpenOccurrence, PlanTask, TaskForecast } from '../model.js'
import { dateOf } from '../time/day.js'
import { isMonthlyListed } from '../rules/monthly.js'
import { opensToday } from '../rules/shift.js'
import { type MachineContext, machineContext, type PlanningContext, preparePlanning } from './context.js'
import { changesFor, openNew, sayOnly } from './changes.js'
import { datesOf, type OccurrenceDates } from './dates.js'
import type { PlanningInput } from './input.js'
import { monthlyChanges } from './monthly-changes.js'
import { type Outlook, outlookOf } from './outlook.js'

/** Rule 17: a machine back in service is asked for everything that has passed or falls within so many days. */
export const WAKE_UP_DAYS = 30
const WAKE_UP_ASKED_FOR_DAYS = 60

export function planMachines(input: PlanningInput): MachinePlan[] {
  const context = preparePlanning(input)
  return input.machines.map((machine) => planOne(context, machine))
}

/** One machine's broken data stops no other. */
function planOne(context: PlanningContext, machine: MachineToPlan): MachinePlan {
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

function emptyForecast(task: PlanTask, state: TaskForecast['state'], reason: string | null): TaskForecast {
  return {
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    state,
    earlyOn: null,
    likelyOn: null,
    lateOn: null,
    noLaterThan: null,
    governing: null,
    basis: {},
    reason,
  }
}

function planMachine(context: MachineContext): MachinePlan {
  const { machine, tasks } = context
  if (machine.status !== 'in_service') return notInService(context)
  const forecasts: TaskForecast[] = []
  const changes: OccurrenceChange[] = supersedeForeign(context)
  for (const task of tasks) {
    const outlook = outlookOf(context, task)
    forecasts.push(forecastOf(context, outlook))
    changes.push(...taskChanges(context, task, outlook))
  }
  return { machineId: machine.machineId, forecasts, changes, problem: null }
}

/** Rule 17: calendar clocks run on but open nothing; open occurrences are superseded. */
function notInService({ machine, tasks }: MachineContext): MachinePlan {
  const reason = 'Not in service: nothing is asked for until it comes back.'
  return {
    machineId: machine.machineId,
    forecasts: tasks.map((task) => emptyForecast(task, 'paused', reason)),
    changes: Object.values(machine.open).map(({ id }) => ({ do: 'supersede', occurrenceId: id, reason: 'Not in service.', missed: false })),
    problem: null,
  }
}

/** Occurrences of tasks that the plan no longer has. */
function supersedeForeign({ machine, tasks }: MachineContext): OccurrenceChange[] {
  const known = new Set(tasks.map(({ serviceTaskId }) => serviceTaskId))
  return Object.entries(machine.open)
    .filter(([taskId]) => !known.has(taskId))
    .map(([, { id }]) => ({ do: 'supersede', occurrenceId: id, reason: 'No longer in the service plan.', missed: false }))
}

function forecastOf(context: MachineContext, outlook: Outlook): TaskForecast {
  const { task, range, governing } = outlook
  if (governing === null || range.likely === null) {
    const beyond = governing !== null ? 'Further ahead than five years at the present use.' : outlook.reason
    return {
      ...emptyForecast(task, 'no_date', beyond),
      noLaterThan: outlook.noLaterThan,
      governing: governing?.trigger ?? null,
      basis: governing?.basis ?? {},
    }
  }
  return {
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    state: outlook.firstLook ? 'first_look' : 'dated',
    earlyOn: range.early,
    likelyOn: range.likely,
    lateOn: range.late,
    noLaterThan: outlook.noLaterThan,
    governing: governing.trigger,
    basis: governing.basis,
    reason: null,
  }
}

/** Rule 2: moving a component supersedes the open occurrences of its tasks. */
function movedAway({ machine }: MachineContext, task: PlanTask, open: OpenOccurrence): boolean {
  if (open.componentId === null || task.componentKey === null) return false
  const inPlace = machine.components.find(({ componentKey }) => componentKey === task.componentKey)
  return inPlace !== undefined && inPlace.componentId !== open.componentId
}

function taskChanges(context: MachineContext, task: PlanTask, outlook: Outlook): OccurrenceChange[] {
  const open = context.machine.open[task.serviceTaskId] ?? null
  if (open && movedAway(context, task, open)) {
    const moved: OccurrenceChange = {
      do: 'supersede',
      occurrenceId: open.id,
      reason: 'The component was moved or replaced.',
      missed: false,
    }
    return [moved, ...regularChanges(context, task, outlook, null, open.sequence)]
  }
  if (isMonthlyListed(task)) return monthlyChanges(context, task, outlook, open)
  return regularChanges(context, task, outlook, open, 0)
}

function regularChanges(
  context: MachineContext,
  task: PlanTask,
  outlook: Outlook,
  open: OpenOccurrence | null,
  sequenceAfter: number,
): OccurrenceChange[] {
  const { today, leadDays } = context.input
  const dates = wakeUpDates(context, task, outlook) ?? datesOf(context, outlook)
  const safetyFinding = outlook.governing?.findingSafety === true
  if (open?.kind === 'put_off')
    return sayOnly(context, task, open, { care: careOf(task), neverLate: false, urgentAllowed: dates?.urgentAllowed ?? true })
  if (dates === null) return open ? [{ do: 'supersede', occurrenceId: open.id, reason: 'No longer due.', missed: false }] : []
  if (open?.kind === 'wake_up') return []
  if (open) return changesFor(context, task, dates, open, safetyFinding)
  const early = dates.kind === 'wake_up' ? dates.dueOn : (outlook.range.early ?? dates.dueOn)
  if (!opensToday(today, early, dates.dueOn, leadDays, task.partsLeadDays)) return []
  return [openNew(context, task, dates, { sequenceAfter, safetyFinding })]
}

/** Rule 17: due before use and never late; safety checks, and what has passed or falls within 30 days. */
function wakeUpDates({ machine, input }: MachineContext, task: PlanTask, outlook: Outlook): OccurrenceDates | null {
  const back = machine.situations
    .filter(({ kind, on }) => kind === 'back_in_service' && on <= input.today && input.today - on <= WAKE_UP_ASKED_FOR_DAYS)
    .at(-1)
  if (!back || (outlook.last !== null && outlook.last.doneOn >= back.on)) return null
  const likely = outlook.range.likely
  if (!task.safetyCheck && (likely === null || likely > back.on + WAKE_UP_DAYS)) return null
  if (outlook.governing === null && !task.safetyCheck) return null
  return {
    kind: 'wake_up',
    nominalOn: back.on,
    windowFrom: back.on,
    windowTo: back.on + WAKE_UP_ASKED_FOR_DAYS,
    hardLimitOn: null,
    dueOn: back.on,
    lateFrom: null,
    needsPerson: false,
    governing: 'situation',
    basis: { situation: 'back_in_service', happenedOn: dateOf(back.on), dueOn: dateOf(back.on) },
    care: careOf(task),
    neverLate: true,
    urgentAllowed: false,
  }
}
