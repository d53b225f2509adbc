/** Rule 17: while a machine is not in service its calendar clocks run on, but open nothing and send nothing. */
import type { MachinePlan, OpenOccurrence, PlanTask, TaskForecast } from '../model.js'
import type { MachineContext } from './context.js'

const WHERE: Readonly<Record<string, string>> = {
  on_the_shelf: 'on the shelf',
  at_the_bench: 'at the bench',
  away_for_repair: 'away for repair',
  tagged_out: 'tagged out',
  not_found: 'not found',
  retired: 'retired',
}

export function emptyForecast(task: PlanTask, state: TaskForecast['state'], reason: string | null): TaskForecast {
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

/** Work that is under way goes on, on the bench above all; a task that ended in a tag-out stays open (rule 15). */
const staysOpen = (status: string, open: OpenOccurrence): boolean =>
  open.underWaySince !== null || (status === 'tagged_out' && (open.governing === 'finding' || open.governing === 'wear'))

export function notInService({ machine, tasks }: MachineContext): MachinePlan {
  const where = WHERE[machine.status] ?? 'not in service'
  const reason = machine.status === 'retired' ? 'Retired.' : `Not in service (${where}): nothing is asked for until it comes back.`
  return {
    machineId: machine.machineId,
    forecasts: tasks.map((task) => emptyForecast(task, 'paused', reason)),
    changes: Object.values(machine.open)
      .filter((open) => !staysOpen(machine.status, open))
      .map(({ id }) => ({ do: 'supersede', occurrenceId: id, reason: 'Not in service.', missed: false })),
    problem: null,
  }
}
