/** Rule 18 in the pass: where nothing is known of the last time, one visit is chosen; until then there is no date. */
import { careOf } from '../calendar/day-table.js'
import type { Day, PlanTask } from '../model.js'
import { SPREAD_DAYS, spreadLookDueOn } from '../rules/first-look.js'
import { hasCalendarMonth } from '../rules/monthly.js'
import { dateOf } from '../time/day.js'
import { calendarTrigger } from './baseline.js'
import type { MachineContext } from './context.js'
import { stripsPerUnit, type TriggerMoment } from './moments.js'

/** Tasks that wait for a finding, a situation or the wear need no look of their own; monthly care has its list. */
export const wantsFirstLook = (task: PlanTask): boolean =>
  !hasCalendarMonth(task) && task.triggers.some(({ kind }) => kind === 'calendar' || kind === 'usage' || kind === 'life')

/** Shortest interval of the task, days, over which its first looks are spread. */
function intervalDays({ facts }: MachineContext, task: PlanTask): number {
  const trigger = calendarTrigger(task)
  const byCalendar =
    trigger === undefined ? SPREAD_DAYS : trigger.months === undefined ? (trigger.days ?? SPREAD_DAYS) : trigger.months * 30.44
  const byUse = task.triggers.flatMap((one) => {
    const strips = one.kind === 'usage' ? (stripsPerUnit(one.unit, facts) ?? 0) * one.amount : 0
    return strips > 0 && facts.usualStripsPerDay > 0 ? [(strips / facts.usualStripsPerDay) * 1.4] : []
  })
  return Math.max(1, Math.round(Math.min(byCalendar, ...byUse)))
}

/** Where the spread begins: at registration, or when the task came into the plan, or when the machine came back. */
function spreadFrom({ machine }: MachineContext, task: PlanTask): Day {
  const inPlanSince = task.intervalBefore?.months === null ? task.intervalBefore.changedOn : machine.registeredOn
  const back = machine.situations.filter(({ kind }) => kind === 'back_in_service').map(({ on }) => on)
  return Math.max(machine.registeredOn, inPlanSince, ...back)
}

export function firstLookMoment(context: MachineContext, task: PlanTask): TriggerMoment {
  const { machine, fleet, input } = context
  const day = spreadLookDueOn(fleet.table, {
    from: spreadFrom(context, task),
    today: input.today,
    intervalDays: intervalDays(context, task),
    name: `${machine.machineId} ${task.key}`,
    care: careOf(task),
    alreadyOpen: machine.open[task.serviceTaskId]?.kind === 'first_look' ? machine.open[task.serviceTaskId]!.nominalOn : null,
  })
  return {
    trigger: 'calendar',
    moment: { kind: 'day', day },
    lengthDays: null,
    basis: { lastDoneOn: null, firstLook: true, dueOn: dateOf(day) },
  }
}
