/** Rule 18 in the pass: where nothing is known of the last time, one visit is chosen; until then there is no date. */
import { careOf } from '../calendar/day-table.js'
import type { Day, MachineTypeFacts, PlanTask } from '../model.js'
import { safetyLookDueOn, smallCareDueOn, SPREAD_DAYS, spreadDays, spreadLookDueOn } from '../rules/first-look.js'
import { hasCalendarMonth } from '../rules/monthly.js'
import { dateOf } from '../time/day.js'
import { calendarTrigger } from './baseline.js'
import type { MachineContext } from './context.js'
import { stripsPerUnit, type TriggerMoment } from './moments.js'

/** First time on a machine whose past is not known: small care within four weeks by line, the safety look in the first week. */
export function firstSmallCareOn({ machine, fleet }: MachineContext, task: PlanTask): Day {
  return task.safetyCheck
    ? safetyLookDueOn(fleet.table, machine.registeredOn)
    : smallCareDueOn(fleet.table, machine.registeredOn, machine.line, careOf(task))
}

/** Tasks that wait for a finding, a situation or the wear need no look of their own; monthly care has its list. */
export const wantsFirstLook = (task: PlanTask): boolean =>
  !hasCalendarMonth(task) && task.triggers.some(({ kind }) => kind === 'calendar' || kind === 'usage' || kind === 'life')

/** Shortest interval of the task, days, over which its first looks are spread. */
function intervalDays(facts: MachineTypeFacts, task: PlanTask): number {
  const trigger = calendarTrigger(task)
  const byCalendar =
    trigger === undefined ? SPREAD_DAYS : trigger.months === undefined ? (trigger.days ?? SPREAD_DAYS) : trigger.months * 30.44
  const byUse = task.triggers.flatMap((one) => {
    const strips = one.kind === 'usage' ? (stripsPerUnit(one.unit, facts) ?? 0) * one.amount : 0
    return strips > 0 && facts.usualStripsPerDay > 0 ? [(strips / facts.usualStripsPerDay) * 1.4] : []
  })
  return Math.max(1, Math.round(Math.min(byCalendar, ...byUse)))
}

/** Minutes of technicians' first looks on an open day, where those of all machines registered about that day are spread without a limit. */
function minutesADay({ input, fleet }: MachineContext, registeredOn: Day): number {
  let minutes = 0
  for (const cohort of input.firstRound?.registered ?? []) {
    const facts = input.types[cohort.machineTypeId]
    if (!facts || Math.abs(cohort.registeredOn - registeredOn) > SPREAD_DAYS) continue
    for (const task of input.tasksByType[cohort.machineTypeId] ?? []) {
      if (!wantsFirstLook(task) || task.skill === 'instructed') continue
      const days = spreadDays(fleet.table, cohort.registeredOn, intervalDays(facts, task), careOf(task)).length
      minutes += (cohort.machines * task.minutes) / Math.max(1, days)
    }
  }
  return minutes
}

/** Rule 18, 'within the hours there are': so many times as many days the looks must have to fit; 1 where they do, or nobody knows. */
function stretchOf(context: MachineContext, registeredOn: Day, task: PlanTask): number {
  const round = context.input.firstRound
  if (!round || task.skill === 'instructed') return 1
  const known = context.stretches.get(registeredOn)
  if (known !== undefined) return known
  const workingDays = context.input.calendar.shiftMinutes.filter((minutes) => minutes > 0).length
  const there = (60 * round.technicianHoursAWeek) / Math.max(1, workingDays)
  const stretch = Math.max(1, minutesADay(context, registeredOn) / there)
  context.stretches.set(registeredOn, stretch)
  return stretch
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
    intervalDays: intervalDays(context.facts, task),
    stretch: stretchOf(context, machine.registeredOn, task),
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
