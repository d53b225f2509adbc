import type { PartLine } from '@tapewarden/messaging'
import type { PartNeedsHere } from '@tapewarden/persistence/sql'
import { advisePart, dayOf, NO_STOCK } from '@tapewarden/scheduling'

/** An order is said this long before it must be placed. */
const SAY_DAYS_BEFORE = 7

/** What must be ordered within the week, so that with the warehouse's chance nothing is missing; the same as the desk says. */
export function partsToOrder(needs: readonly PartNeedsHere[], today: string): (PartLine & { partId: string })[] {
  return needs
    .flatMap(({ part, places, stock, servicePercent }) => {
      if (!part) return []
      const question = { today: dayOf(today), service: servicePercent / 100, horizonDays: SAY_DAYS_BEFORE }
      const { orderBy, orderPieces } = advisePart(places, stock ?? NO_STOCK, question)
      if (orderBy === null) return []
      return [{ partId: part.id, name: part.name, stockCode: part.stockCode, quantity: orderPieces, orderBy }]
    })
    .sort((left, right) => left.orderBy.localeCompare(right.orderBy) || left.name.localeCompare(right.name, 'en'))
}
