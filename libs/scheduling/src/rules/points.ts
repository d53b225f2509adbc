/** Rules 3, 4 and 5: where the next point lies, its window and hard limit, and what a 'done' means for the one after. */
import type { Trigger } from '@tapewarden/shared'
import type { Day, LastDone, UseAnchor } from '../model.js'
import { addMonthsClamped } from '../time/day.js'

export type CalendarTrigger = Extract<Trigger, { kind: 'calendar' }>

export interface Anchor {
  anchorOn: Day
  /** Months already counted from anchorOn; the anchor's day of the month is kept, so points do not creep. */
  anchorSteps: number
}

export interface Point {
  nominalOn: Day
  /** Days from the point before to this one. */
  lengthDays: number
}

const settledOn = ({ anchorOn, anchorSteps }: Anchor): Day => addMonthsClamped(anchorOn, anchorSteps)

/** Rule 3. Months count from the anchor's own date and clamp; days count from the settled point. */
export function nextPoint(trigger: CalendarTrigger, anchor: Anchor, lastDoneOn: Day): Point {
  const settled = settledOn(anchor)
  if (trigger.mode === 'anchored' && trigger.anchoredOn) return nextFixedDate(trigger, Math.max(settled, lastDoneOn))
  const nominalOn =
    trigger.months === undefined ? settled + (trigger.days ?? 0) : addMonthsClamped(anchor.anchorOn, anchor.anchorSteps + trigger.months)
  return { nominalOn, lengthDays: nominalOn - settled }
}

/** First of the fixed dates after `after`. */
function nextFixedDate(trigger: CalendarTrigger, after: Day): Point {
  const start = Math.floor(Date.parse(`${trigger.anchoredOn}T00:00:00Z`) / 86_400_000)
  const at = (step: number): Day =>
    trigger.months === undefined ? start + step * (trigger.days ?? 1) : addMonthsClamped(start, step * trigger.months)
  let step = 0
  while (at(step) <= after) step++
  return { nominalOn: at(step), lengthDays: at(step) - at(step - 1) }
}

/** Rule 4: ⌊10 %⌋ of an interval's length, in its own unit. */
export const windowOf = (length: number): number => Math.floor(length / 10 + 1e-9)

/** Rule 4: ⌊125 %⌋ of an interval's length, from the actual last done. */
export const hardLimitAfter = (length: number): number => Math.floor(length * 1.25 + 1e-9)

/** Without an interval (life, finding, situation, function check): days after the due date (assumption). */
export const WINDOW_WITHOUT_INTERVAL_DAYS = 14
export const HARD_LIMIT_WITHOUT_INTERVAL_DAYS = 30

export interface SettledOccurrence {
  nominalOn: Day
  windowFrom: Day
  windowTo: Day
  /** The shifted date, where it was shifted; else the nominal one. */
  dueOn: Day
}

/**
 * Rule 5. Done inside the window, or on a shifted date: the next point counts from the nominal one; outside: from
 * the actual day. With 'overrun counts' the late days are taken off the next interval, which is the same as
 * counting from the nominal point.
 * @param governed true where this calendar trigger governed the occurrence; the task's other triggers restart from the actual day
 */
export function anchorAfterDone(
  trigger: CalendarTrigger | null,
  before: Anchor | null,
  doneOn: Day,
  occurrence: SettledOccurrence | null,
  { governed, overrunCounts }: { governed: boolean; overrunCounts: boolean },
): Anchor {
  const fromActual: Anchor = { anchorOn: doneOn, anchorSteps: 0 }
  if (!trigger || !occurrence || !governed || trigger.mode === 'floating') return fromActual
  if (!countsFromNominal(doneOn, occurrence, overrunCounts)) return fromActual
  // Without a record before it, the point came from the commissioning day: the nominal date is all that is left of it.
  return before ? anchorAt(before, occurrence.nominalOn) : { anchorOn: occurrence.nominalOn, anchorSteps: 0 }
}

/** Inside the window, on a shifted date, or late where overrun counts. */
function countsFromNominal(doneOn: Day, { nominalOn, dueOn, windowFrom, windowTo }: SettledOccurrence, overrunCounts: boolean): boolean {
  const inWindow = doneOn >= windowFrom && doneOn <= windowTo
  const onShifted = dueOn !== nominalOn && doneOn >= Math.min(dueOn, nominalOn) && doneOn <= Math.max(dueOn, nominalOn)
  return inWindow || onShifted || (overrunCounts && doneOn > windowTo)
}

/**
 * Rule 5 for a usage trigger that governed: the next interval counts from the nominal point, kept as whole intervals
 * after the day from which they were counted, so that evidence corrected later moves the point as it should.
 * @returns null where it counts from the actual day
 */
export function useAnchorAfterDone(
  { unit, amount }: Extract<Trigger, { kind: 'usage' }>,
  last: Pick<LastDone, 'doneOn'> & { useAnchor?: UseAnchor },
  doneOn: Day,
  occurrence: SettledOccurrence,
  overrunCounts: boolean,
): UseAnchor | null {
  if (!countsFromNominal(doneOn, occurrence, overrunCounts)) return null
  const before = last.useAnchor?.unit === unit ? last.useAnchor : { on: last.doneOn, amount: 0 }
  return { on: before.on, unit, amount: before.amount + amount }
}

/** Longest time ahead in which the anchor's own day of the month is looked for, months. */
const LONGEST_INTERVAL_MONTHS = 480

/**
 * The anchor that has settled the nominal point: the old one so many months on, where the point is one of its months
 * (also after a skip, or with the interval of an earlier plan); else the point itself.
 */
function anchorAt({ anchorOn, anchorSteps }: Anchor, nominalOn: Day): Anchor {
  const about = Math.floor((nominalOn - anchorOn) / 30.44)
  for (let months = Math.max(anchorSteps + 1, about - 1); months <= Math.min(about + 2, LONGEST_INTERVAL_MONTHS); months++)
    if (addMonthsClamped(anchorOn, months) === nominalOn) return { anchorOn, anchorSteps: months }
  return { anchorOn: nominalOn, anchorSteps: 0 }
}
