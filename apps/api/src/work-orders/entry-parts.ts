/** Parts off the shelf and back onto it: never less than nothing there, and nothing that was really used is left out. */
import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { ParsedWorkEntry } from '@tapewarden/shared'
import { insertFinding } from '../findings/findings.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { requireUnderWay } from './entry-answers.js'
import type { OrderFacts } from './readiness.js'

type Of<Kind extends ParsedWorkEntry['kind']> = Extract<ParsedWorkEntry, { kind: Kind }>

/** From this warehouse's shelf; what does not fit this machine type is refused, with what fits named. */
export async function usePart(changing: Changing, facts: OrderFacts, entry: Of<'use_part'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const { order } = facts
  const fitting = facts.parts.find(({ partId }) => partId === entry.partId)
  if (!fitting)
    throw new InvalidError(
      'PART_DOES_NOT_FIT',
      `This part does not fit ${order.typeName}. These do: ${
        facts.parts
          .filter(({ inBooks }) => inBooks)
          .map(({ name }) => name)
          .join(', ') || 'none in the books'
      }.`,
      '/partId',
    )
  const onHand = await onShelf(changing, order.warehouseId, entry.partId)
  if (onHand < entry.quantity && !entry.inHand)
    throw new ConflictError(
      'NOT_ON_THE_SHELF',
      `${fitting.name}: there are not ${entry.quantity} on the shelf in ${order.warehouseName}. Correct the stock first if the shelf says otherwise.`,
    )
  await changing.run(
    `UPDATE part_stock SET on_hand = on_hand - $4, reserved = LEAST(GREATEST(0, reserved - $4), on_hand - $4) WHERE organisation_id = $1 AND part_id = $2 AND warehouse_id = $3`,
    [entry.partId, order.warehouseId, Math.min(onHand, entry.quantity)],
  )
  await changing.run(
    `INSERT INTO part_use (organisation_id, id, part_id, warehouse_id, machine_id, work_order_id, quantity, used_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [newId(), entry.partId, order.warehouseId, order.machineId, order.id, entry.quantity, at],
  )
  if (onHand < entry.quantity)
    await askToCount(changing, facts, `${fitting.name}: ${sayShort(onHand, entry.quantity, order.warehouseName)}`, at)
}

/** Held until the end: who books at the same time waits. */
async function onShelf(changing: Changing, warehouseId: string, partId: string): Promise<number> {
  const shelf = await changing.maybeOne<{ onHand: number }>(
    `SELECT on_hand AS "onHand" FROM part_stock WHERE organisation_id = $1 AND part_id = $2 AND warehouse_id = $3 FOR UPDATE`,
    [partId, warehouseId],
  )
  return shelf?.onHand ?? 0
}

const sayShort = (onHand: number, taken: number, warehouseName: string): string =>
  `the books had ${onHand === 0 ? 'none' : `only ${onHand}`} on the shelf in ${warehouseName}, and ${taken} ${taken === 1 ? 'was' : 'were'} taken from it. Count the shelf.`

/** The books were wrong by what really lay there; once an order and part, until somebody has counted. */
async function askToCount(changing: Changing, { order }: OrderFacts, text: string, at: Date): Promise<void> {
  const asked = await changing.maybeOne(
    `SELECT id FROM finding WHERE organisation_id = $1 AND work_order_id = $2 AND text = $3 AND settled_on IS NULL`,
    [order.id, text],
  )
  if (asked) return
  const found = { text, safety: false, workOrderId: order.id, foundOn: localDateOf(at, order.zone) }
  await insertFinding(changing, order.machineId, order.machineTypeId, found, '')
}

/** To the shelf it came from; what was booked last goes back first. */
export async function putBackPart(changing: Changing, facts: OrderFacts, entry: Of<'put_back_part'>): Promise<void> {
  requireUnderWay(facts)
  const taken = facts.partsUsed.filter(({ partId }) => partId === entry.partId).toReversed()
  const sum = taken.reduce((total, { quantity }) => total + quantity, 0)
  if (sum < entry.quantity)
    throw new ConflictError(
      'NOT_TAKEN',
      sum === 0 ? 'This order has taken none of this part.' : `This order has taken only ${sum} of ${taken[0]?.partName}.`,
    )
  let left = entry.quantity
  for (const { id, quantity } of taken) {
    const back = Math.min(left, quantity)
    if (back === quantity) await changing.run(`DELETE FROM part_use WHERE organisation_id = $1 AND id = $2`, [id])
    else if (back > 0) await changing.run(`UPDATE part_use SET quantity = quantity - $3 WHERE organisation_id = $1 AND id = $2`, [id, back])
    left -= back
  }
  await changing.run(`UPDATE part_stock SET on_hand = on_hand + $4 WHERE organisation_id = $1 AND part_id = $2 AND warehouse_id = $3`, [
    entry.partId,
    facts.order.warehouseId,
    entry.quantity,
  ])
}
