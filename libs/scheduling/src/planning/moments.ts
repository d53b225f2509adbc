/** The due moments of one task on one machine: a trigger each, with the numbers that explain it. */
import type { Trigger, TriggerKind } from '@tapewarden/shared'
import { type DueMoment, remainingNodes } from '../combine/first-due.js'
import type { Basis, ComponentInPlace, Day, LastDone, MachineTypeFacts, PlanTask } from '../model.js'
import { nextPoint } from '../rules/points.js'
import { addMonthsClamped, dateOf } from '../time/day.js'
import type { MachineContext } from './context.js'

export interface TriggerMoment {
  trigger: TriggerKind
  moment: DueMoment
  /** Days of the interval, for window and hard limit; null without one. */
  lengthDays: number | null
  /** Of a usage trigger: strips of the interval and strips used since the last time. */
  strips?: { amount: number; used: number; from: Day }
  hardLimitOn?: Day
  findingSafety?: boolean
  basis: Basis
}

/** Strips that make one unit of a usage trigger. Metres = strips × mean strip; motor minutes = metres ÷ feed speed + strips × start-up ÷ 60. */
export function stripsPerUnit(unit: 'strips' | 'metres' | 'motor_minutes', facts: MachineTypeFacts): number | null {
  if (unit === 'strips') return 1
  const metresPerStrip = facts.meanStripMm / 1000
  if (unit === 'metres') return 1 / metresPerStrip
  if (facts.feedSpeedMPerMin === null) return null
  return 1 / (metresPerStrip / facts.feedSpeedMPerMin + facts.startUpSecondsPerStrip / 60)
}

/**
 * Last done of a task, or the commissioning day of a machine whose first point lay after its registration: a new
 * machine counts from that day (rule 18).
 */
export function lastDoneOf({ machine }: MachineContext, task: PlanTask): { last: LastDone | null; fromCommissioning: boolean } {
  const recorded = machine.lastDone[task.serviceTaskId]
  if (recorded) return { last: recorded, fromCommissioning: false }
  const { commissionedOn, registeredOn } = machine
  if (commissionedOn === null) return { last: null, fromCommissioning: false }
  const fresh = commissionedOn >= registeredOn - 31
  const months = calendarTrigger(task)?.months ?? 0
  if (!fresh && !(months > 0 && addMonthsClamped(commissionedOn, months) > registeredOn)) return { last: null, fromCommissioning: false }
  return {
    last: { doneOn: commissionedOn, anchorOn: commissionedOn, anchorSteps: 0, stripsTotal: fresh ? 0 : null },
    fromCommissioning: true,
  }
}

type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>
export const calendarTrigger = (task: PlanTask): CalendarTrigger | undefined =>
  task.triggers.find((trigger): trigger is CalendarTrigger => trigger.kind === 'calendar')

export function componentOf({ machine }: MachineContext, key: string | null): ComponentInPlace | null {
  return key === null ? null : (machine.components.find(({ componentKey }) => componentKey === key) ?? null)
}

/** Rule 3, and rule 19 where the plan's interval changed after the last time. */
export function calendarMoment(task: PlanTask, trigger: CalendarTrigger, last: LastDone, leadDays: number): TriggerMoment {
  const before = task.intervalBefore
  const changed = before !== undefined && last.doneOn < before.changedOn && trigger.months !== undefined && before.months !== trigger.months
  const basis = { lastDoneOn: dateOf(last.doneOn), months: trigger.months ?? null, days: trigger.days ?? null }
  if (changed && before.months < (trigger.months as number)) {
    const point = nextPoint({ ...trigger, months: before.months }, last, last.doneOn)
    return {
      trigger: 'calendar',
      moment: { kind: 'day', day: point.nominalOn },
      lengthDays: point.lengthDays,
      basis: { ...basis, months: before.months, planChangedOn: dateOf(before.changedOn), dueOn: dateOf(point.nominalOn) },
    }
  }
  const point = nextPoint(trigger, last, last.doneOn)
  let day = point.nominalOn
  let hardLimitOn: Day | undefined
  if (changed && day <= before.changedOn + leadDays) {
    day = before.changedOn + (task.safetyCheck ? 7 : 7 + (((last.doneOn % 21) + 21) % 21))
    hardLimitOn = day + 14
  }
  return {
    trigger: 'calendar',
    moment: { kind: 'day', day },
    lengthDays: point.lengthDays,
    ...(hardLimitOn === undefined ? {} : { hardLimitOn }),
    basis: { ...basis, dueOn: dateOf(day), ...(changed ? { planChangedOn: dateOf(before.changedOn) } : {}) },
  }
}

/** Use since the last time, as far as the ledger knows, and from which day the rest is still to come. */
export function usedSince({ machine, usage }: MachineContext, last: LastDone): { used: number; from: Day } | null {
  if (last.stripsTotal === null) return last.doneOn >= usage.knownTo ? { used: 0, from: last.doneOn } : null
  if (last.doneOn > usage.knownTo) return { used: 0, from: last.doneOn }
  return { used: Math.max(0, machine.stripsTotal - last.stripsTotal), from: usage.knownTo }
}

export function usageMoment(context: MachineContext, trigger: Extract<Trigger, { kind: 'usage' }>, last: LastDone): TriggerMoment | null {
  const perUnit = stripsPerUnit(trigger.unit, context.facts)
  const since = usedSince(context, last)
  if (perUnit === null || since === null) return null
  const amount = trigger.amount * perUnit
  const { usage } = context
  return {
    trigger: 'usage',
    moment: { kind: 'strips', from: since.from, nodes: remainingNodes(amount, since.used, usage.sharedSd) },
    lengthDays: null,
    strips: { amount, used: since.used, from: since.from },
    basis: {
      lastDoneOn: dateOf(last.doneOn),
      unit: trigger.unit,
      amount: trigger.amount,
      used: Math.round(since.used / perUnit),
      perDay: Math.round((usage.level / perUnit) * 10) / 10,
      kinds: [...usage.kinds],
      intervals: usage.intervals,
    },
  }
}

/** Rule 16: the age at which the chance of failure since the last look reaches the level makes the look due. */
export function lifeMoment(
  context: MachineContext,
  task: PlanTask,
  trigger: Extract<Trigger, { kind: 'life' }>,
  last: LastDone,
): TriggerMoment | null {
  const component = componentOf(context, task.componentKey)
  const life = task.componentKey === null ? undefined : context.input.life[task.componentKey]
  if (!component || component.newOn === null || !life) return null
  const ageThen = Math.max(0, (last.doneOn - component.newOn) / 365.25)
  const ageDue = life.scaleYears * ((ageThen / life.scaleYears) ** life.shape - Math.log1p(-trigger.failedFraction)) ** (1 / life.shape)
  const day = component.newOn + Math.ceil(ageDue * 365.25)
  return {
    trigger: 'life',
    moment: { kind: 'day', day },
    lengthDays: null,
    basis: {
      lastDoneOn: dateOf(last.doneOn),
      ageYears: Math.round(((context.input.today - component.newOn) / 365.25) * 10) / 10,
      failedPercent: Math.round(trigger.failedFraction * 100),
      removals: life.removals,
      dueOn: dateOf(day),
    },
  }
}

/** Findings that ask for this task; one on a worn part without a date of its own is dated 'no later than' (rule 15). */
export function findingMoments(
  { machine }: MachineContext,
  task: PlanTask,
  last: LastDone | null,
  noLaterThan: Day | null,
): TriggerMoment[] {
  return machine.findings
    .filter(({ serviceTaskId, foundOn }) => serviceTaskId === task.serviceTaskId && (last === null || foundOn >= last.doneOn))
    .map(({ foundOn, dueOn, withinDays, safety, text }) => {
      const day = dueOn ?? (withinDays === null ? (noLaterThan ?? foundOn + 14) : foundOn + withinDays)
      return {
        trigger: 'finding',
        moment: { kind: 'day', day },
        lengthDays: null,
        findingSafety: safety,
        basis: { foundOn: dateOf(foundOn), finding: text, dueOn: dateOf(day) },
      }
    })
}

/** Once when something happens; then the task goes back to its rhythm. */
export function situationMoments({ machine }: MachineContext, task: PlanTask, last: LastDone | null): TriggerMoment[] {
  const wanted = new Set(task.triggers.flatMap((trigger) => (trigger.kind === 'situation' ? [trigger.situation] : [])))
  return machine.situations
    .filter(({ kind, on }) => wanted.has(kind) && (last === null || on > last.doneOn))
    .map(({ kind, on }) => ({
      trigger: 'situation',
      moment: { kind: 'day', day: on },
      lengthDays: null,
      basis: { situation: kind, happenedOn: dateOf(on), dueOn: dateOf(on) },
    }))
}
