import type { PartLine } from '@tapewarden/messaging'
import { dateOf, dayOf } from '@tapewarden/scheduling'

export interface PartNeed {
  partId: string
  name: string
  stockCode: string
  /** Local date on which it is likely to be used. */
  needOn: string
  quantity: number
  onHand: number
  onOrder: number
  leadTimeDays: number
}

/** An order is said this long before it must be placed. */
const SAY_DAYS_BEFORE = 7
/** An order covers what is needed within this time after the first that is missing. */
const COVER_DAYS = 28

/**
 * What must be ordered by when: the first day on which the needs exceed what is on hand and on order, less the lead time.
 * O(n log n) in the needs.
 */
export function partsToOrder(needs: readonly PartNeed[], today: string): (PartLine & { partId: string })[] {
  const byPart = new Map<string, PartNeed[]>()
  for (const need of needs) byPart.set(need.partId, [...(byPart.get(need.partId) ?? []), need])
  const lines: (PartLine & { partId: string })[] = []
  for (const own of byPart.values()) {
    own.sort((left, right) => left.needOn.localeCompare(right.needOn))
    const first = own[0] as PartNeed
    const there = first.onHand + first.onOrder
    let used = 0
    const missing = own.find(({ quantity }) => (used += quantity) > there)
    if (!missing) continue
    const orderBy = Math.max(dayOf(missing.needOn) - first.leadTimeDays, dayOf(today))
    if (orderBy > dayOf(today) + SAY_DAYS_BEFORE) continue
    const until = dateOf(dayOf(missing.needOn) + COVER_DAYS)
    const wanted = own.filter(({ needOn }) => needOn <= until).reduce((sum, { quantity }) => sum + quantity, 0)
    lines.push({ partId: first.partId, name: first.name, stockCode: first.stockCode, quantity: wanted - there, orderBy: dateOf(orderBy) })
  }
  return lines.sort((left, right) => left.orderBy.localeCompare(right.orderBy) || left.name.localeCompare(right.name, 'en'))
}
