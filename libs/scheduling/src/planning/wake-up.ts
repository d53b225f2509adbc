/** Rule 17: a machine that comes back is asked for one list, due before use and never late. */
import { careOf } from '../calendar/day-table.js'
import type { Day, PlanTask } from '../model.js'
import { dateOf } from '../time/day.js'
import type { MachineContext } from './context.js'
import type { OccurrenceDates } from './dates.js'
import type { Outlook } from './outlook.js'

/** What has passed or falls within so many days of the return is on the list. */
export const WAKE_UP_DAYS = 30
/** Days after the return in which a pass that was missed still makes the list. */
const WAKE_UP_ASKED_FOR_DAYS = 60

function backOn({ machine, input }: MachineContext): Day | null {
  const days = machine.situations.filter(({ kind, on }) => kind === 'back_in_service' && on <= input.today).map(({ on }) => on)
  const newest = Math.max(...days)
  return days.length > 0 && input.today - newest <= WAKE_UP_ASKED_FOR_DAYS ? newest : null
}

/** Something has asked for the task since the return, the list itself or another cause: it is not put on the list again. */
function askedSince({ machine }: MachineContext, task: PlanTask, on: Day): boolean {
  const open = machine.open[task.serviceTaskId]
  if (open) return open.openedOn >= on
  const newest = machine.newest[task.serviceTaskId]
  return newest !== undefined && newest.endedOn !== null && newest.endedOn >= on
}

/** null: this task is not on the list of the latest return, or was put on it already. */
export function wakeUpDates(context: MachineContext, task: PlanTask, outlook: Outlook): OccurrenceDates | null {
  const on = backOn(context)
  if (on === null || (outlook.last !== null && outlook.last.doneOn >= on)) return null
  if (askedSince(context, task, on)) return null
  const likely = outlook.range.likely
  if (!task.safetyCheck && (outlook.governing === null || likely === null || likely > on + WAKE_UP_DAYS)) return null
  return {
    kind: 'wake_up',
    nominalOn: on,
    windowFrom: on,
    windowTo: on + WAKE_UP_ASKED_FOR_DAYS,
    hardLimitOn: null,
    dueOn: on,
    lateFrom: null,
    needsPerson: false,
    governing: 'situation',
    basis: { situation: 'back_in_service', happenedOn: dateOf(on), dueOn: dateOf(on) },
    care: careOf(task),
    neverLate: true,
    urgentAllowed: false,
  }
}
