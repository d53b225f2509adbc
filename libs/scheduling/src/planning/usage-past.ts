/** When a ledger total was reached, read back from the evidence: a date in the past that stays where it is. */
import type { Day, LastDone, MachineToPlan } from '../model.js'

/**
 * Day on which the machine's total passed `total`, walking back from the newest evidence; within an interval the strips
 * are taken as even. Before the oldest evidence: its first day.
 * @param total strips, at most the machine's present total
 * @returns null where there is no evidence at all
 */
export function dayOfTotal({ usage, stripsTotal }: Pick<MachineToPlan, 'usage' | 'stripsTotal'>, total: number): Day | null {
  let after = stripsTotal
  let oldest: Day | null = null
  for (let index = usage.length - 1; index >= 0; index--) {
    const { from, to, strips } = usage[index]!
    oldest = oldest === null ? from : Math.min(oldest, from)
    const before = after - strips
    if (before < total && strips > 0) return Math.min(to, from + Math.max(0, Math.ceil(((total - before) / strips) * (to - from + 1)) - 1))
    after = before
  }
  return oldest
}

/** Day in the past on which so many strips had been cut since the last time; not before that time. */
export function usedOn(machine: Pick<MachineToPlan, 'usage' | 'stripsTotal'>, last: LastDone, strips: number): Day | null {
  if (last.stripsTotal === null) return null
  const day = dayOfTotal(machine, last.stripsTotal + strips)
  return day === null ? null : Math.max(day, last.doneOn)
}
