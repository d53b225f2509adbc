/** The due moments of one task on one machine: a trigger each, with the numbers that explain it. */
import type { Trigger, TriggerKind } from '@tapewarden/shared'
import { type DueMoment, remainingNodes } from '../combine/first-due.js'
import type { Basis, Day, LastDone, MachineTypeFacts, PlanTask } from '../model.js'
import { dateOf } from '../time/day.js'
import { sumOver } from '../usage/sums.js'
import { sinceBasis } from './baseline.js'
import type { MachineContext } from './context.js'
import { CHANGE_LIMIT_DAYS, useAfterChange } from './plan-change.js'
import { usedOn } from './usage-past.js'

type UsageTrigger = Extract<Trigger, { kind: 'usage' }>

export interface TriggerMoment {
  trigger: TriggerKind
  moment: DueMoment
  /** Days of the interval, for window and hard limit; null without one. */
  lengthDays: number | null
  /** Of a usage trigger: strips of the interval, strips used since the last time, and from that time to the nominal point it settled. */
  strips?: { amount: number; used: number; from: Day; toNominal: number }
  hardLimitOn?: Day
  /** Days on either side of the point; left out: rule 4. */
  windowDays?: number
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
 * Use since the last time, as far as the ledger knows, and from which day the rest is still to come. Of a machine without any
 * evidence all of it is: its use since then is as uncertain as that to come, and the date stays where it was on the day of the care.
 */
export function usedSince({ machine, usage }: MachineContext, last: LastDone): { used: number; from: Day } | null {
  if (last.stripsTotal === null) return usage.intervals === 0 || last.doneOn >= usage.knownTo ? { used: 0, from: last.doneOn } : null
  if (last.doneOn > usage.knownTo) return { used: 0, from: last.doneOn }
  return { used: Math.max(0, machine.stripsTotal - last.stripsTotal), from: usage.knownTo }
}

/**
 * Rule 5: strips from the last time to the nominal point from which use counts; above 0 where it was done before it.
 * More than half an interval early, or a whole one late, is no window any more, whatever the forecast said then: the clock
 * starts at the last time.
 */
function stripsToNominal(trigger: UsageTrigger, perUnit: number, { stripsTotal, useAnchor }: LastDone): number {
  if (!useAnchor || useAnchor.unit !== trigger.unit || useAnchor.stripsTotal === null || stripsTotal === null) return 0
  const toNominal = useAnchor.stripsTotal + useAnchor.amount * perUnit - stripsTotal
  const amount = trigger.amount * perUnit
  return toNominal > amount / 2 || toNominal < -amount ? 0 : toNominal
}

/**
 * A usage trigger. Once the amount is passed the day is read back from the evidence, so that it does not creep along
 * with today. After a skip the clock runs on from the last done, up to the hard limit (rule 13).
 */
export function usageMoment(
  context: MachineContext,
  task: PlanTask,
  trigger: UsageTrigger,
  last: LastDone,
  { skipped, seed }: { skipped: boolean; seed: string },
): TriggerMoment | null {
  const perUnit = stripsPerUnit(trigger.unit, context.facts)
  const since = usedSince(context, last)
  if (perUnit === null || since === null) return null
  const holds = useAfterChange(context, task, trigger, last, { perUnit, seed })
  const basis = usageBasis(context, { ...trigger, amount: holds.amount }, last, (since.used + expectedSince(context, since.from)) / perUnit)
  if (holds.dueOn !== null && task.intervalBefore) return spreadMoment(holds.dueOn, task.intervalBefore.changedOn, last, basis)
  const amount = holds.amount * perUnit
  const toNominal = stripsToNominal({ ...trigger, amount: holds.amount }, perUnit, last)
  const asked = skipped ? amount * HARD_LIMIT_SHARE : amount + toNominal
  const passedOn = since.used >= asked ? usedOn(context.machine, last, asked) : null
  return {
    trigger: 'usage',
    moment:
      passedOn === null
        ? { kind: 'strips', from: since.from, nodes: remainingNodes(asked, since.used * context.usage.usedFactor, context.usage.sharedSd) }
        : { kind: 'day', day: passedOn },
    lengthDays: null,
    strips: { amount, used: since.used, from: since.from, toNominal },
    basis: toNominal === 0 ? basis : { ...basis, toNominal: Math.round(toNominal / perUnit) },
  }
}

/** Strips that are expected of a machine without any evidence up to today; 0 where the ledger tells. */
function expectedSince({ usage, input }: MachineContext, from: Day): number {
  return usage.intervals > 0 ? 0 : usage.level * sumOver(usage.context, usage.context.expected, from + 1, input.today)
}

function usageBasis({ usage, facts }: MachineContext, { unit, amount }: UsageTrigger, last: LastDone, used: number): Basis {
  const perUnit = stripsPerUnit(unit, facts) ?? 1
  return {
    ...sinceBasis(last),
    unit,
    amount,
    used: Math.round(used),
    perDay: Math.round((usage.level / perUnit) * 10) / 10,
    kinds: [...usage.kinds],
    intervals: usage.intervals,
  }
}

/** Due on its day of the four weeks after a change of plan; late only after it. */
function spreadMoment(day: Day, changedOn: Day, last: LastDone, basis: Basis): TriggerMoment {
  return {
    trigger: 'usage',
    moment: { kind: 'day', day },
    lengthDays: Math.max(1, day - last.doneOn),
    windowDays: 0,
    hardLimitOn: day + CHANGE_LIMIT_DAYS,
    basis: { ...basis, planChangedOn: dateOf(changedOn), dueOn: dateOf(day) },
  }
}

/** Rule 4: the hard limit as a share of the interval. */
export const HARD_LIMIT_SHARE = 1.25
