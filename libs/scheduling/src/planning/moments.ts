/** The due moments of one task on one machine: a trigger each, with the numbers that explain it. */
import type { Trigger, TriggerKind } from '@tapewarden/shared'
import { type DueMoment, remainingNodes } from '../combine/first-due.js'
import type { Basis, Day, LastDone, MachineTypeFacts } from '../model.js'
import { dateOf } from '../time/day.js'
import type { MachineContext } from './context.js'
import { dayOfTotal } from './usage-past.js'

export interface TriggerMoment {
  trigger: TriggerKind
  moment: DueMoment
  /** Days of the interval, for window and hard limit; null without one. */
  lengthDays: number | null
  /** Of a usage trigger: strips of the interval and strips used since the last time. */
  strips?: { amount: number; used: number; from: Day }
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

/** Use since the last time, as far as the ledger knows, and from which day the rest is still to come. */
export function usedSince({ machine, usage }: MachineContext, last: LastDone): { used: number; from: Day } | null {
  if (last.stripsTotal === null) return last.doneOn >= usage.knownTo ? { used: 0, from: last.doneOn } : null
  if (last.doneOn > usage.knownTo) return { used: 0, from: last.doneOn }
  return { used: Math.max(0, machine.stripsTotal - last.stripsTotal), from: usage.knownTo }
}

/**
 * A usage trigger. Once the amount is passed the day is read back from the evidence, so that it does not creep along
 * with today. After a skip the clock runs on from the last done, up to the hard limit (rule 13).
 */
export function usageMoment(
  context: MachineContext,
  trigger: Extract<Trigger, { kind: 'usage' }>,
  last: LastDone,
  skipped: boolean,
): TriggerMoment | null {
  const perUnit = stripsPerUnit(trigger.unit, context.facts)
  const since = usedSince(context, last)
  if (perUnit === null || since === null) return null
  const amount = trigger.amount * perUnit
  const { usage } = context
  const asked = skipped ? amount * HARD_LIMIT_SHARE : amount
  const passedOn = since.used >= asked ? usedOn(context, last, asked) : null
  return {
    trigger: 'usage',
    moment:
      passedOn === null
        ? { kind: 'strips', from: since.from, nodes: remainingNodes(asked, since.used, usage.sharedSd) }
        : { kind: 'day', day: passedOn },
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

/** Rule 4: the hard limit as a share of the interval. */
export const HARD_LIMIT_SHARE = 1.25

/** Day in the past on which so many strips had been cut since the last time; not before that time. */
export function usedOn({ machine }: MachineContext, last: LastDone, strips: number): Day | null {
  if (last.stripsTotal === null) return null
  const day = dayOfTotal(machine, last.stripsTotal + strips)
  return day === null ? null : Math.max(day, last.doneOn)
}
