/**
 * Whose hands are at the machine. While a phone has no network the desk may give its order to somebody else, call it off or move the
 * machine: what was done there was done all the same, and is taken in as it was when it was done.
 */
import type { ParsedWorkEntry } from '@tapewarden/shared'
import type { Who } from '../http/call.js'
import type { Changing } from '../use/work.js'
import type { OrderDetailRow } from './order-rows.js'
import type { OrderFacts } from './readiness.js'

export interface Hands {
  personId: string
  /** The order is or was theirs: it is in their name, or they have entered something on it. */
  ofOrder: boolean
  /** They began, and have neither handed it back nor finished. */
  begun: boolean
  /** … and do not wait just now. */
  atIt: boolean
  /** When they read the cautions last; null: never. */
  readAt: string | null
}

export async function handsOf(changing: Changing, workOrderId: string): Promise<Hands> {
  const { personId } = changing.who
  const row = await changing.maybeOne<{ theirs: boolean; last: ParsedWorkEntry['kind'] | null; readAt: string | null }>(
    `WITH own AS (SELECT kind, made_at, received_at FROM work_entry WHERE organisation_id = $1 AND work_order_id = $2 AND person_id = $3 AND outcome <> 'refused')
     SELECT COALESCE(o.technician_id = $3, false) OR EXISTS (SELECT 1 FROM own) AS theirs,
       (SELECT kind FROM own WHERE kind IN ('start', 'resume', 'wait', 'hand_back', 'finish') ORDER BY received_at DESC, made_at DESC LIMIT 1) AS last,
       (SELECT max(made_at) FROM own WHERE kind = 'acknowledge_cautions') AS "readAt"
     FROM work_order o WHERE o.organisation_id = $1 AND o.id = $2`,
    [workOrderId, personId === '' ? null : personId],
  )
  const last = row?.last ?? null
  const atIt = last === 'start' || last === 'resume'
  return { personId, ofOrder: personId !== '' && (row?.theirs ?? false), begun: atIt || last === 'wait', atIt, readAt: row?.readAt ?? null }
}

/** Whose order it is or was may say what they did on it, also where the machine, or they, now belong to another warehouse. */
export const reachOf = ({ who }: Changing, { ofOrder }: Hands): Who['warehouseIds'] => (ofOrder ? null : who.warehouseIds)

/** States that only the desk, or another person, brings an order to that somebody is at. */
const ELSEWHERE: readonly OrderDetailRow['state'][] = ['issued', 'accepted', 'returned', 'cancelled']

export function wentElsewhere(order: OrderDetailRow, { begun, ofOrder, personId }: Hands): boolean {
  if (order.state === 'cancelled') return ofOrder
  return begun && ELSEWHERE.includes(order.state) && order.technicianId !== null && order.technicianId !== personId
}

export const sayTaken = ({ state, technicianName }: OrderDetailRow): string =>
  state === 'cancelled' ? 'The order was called off meanwhile.' : `The order had gone to ${technicianName ?? 'somebody else'} meanwhile.`

/** What was taken off a shelf, and a tag that hangs, are so whoever finished the order. */
const ALSO_WHEN_ENDED: readonly ParsedWorkEntry['kind'][] = ['use_part', 'put_back_part', 'tag_out']
/** Entries that say what was done at the machine. */
const AT_THE_MACHINE: readonly ParsedWorkEntry['kind'][] = [
  ...ALSO_WHEN_ENDED,
  'answer_step',
  'measure',
  'task_done',
  'task_not_done',
  'task_again',
  'function_check',
  'finish',
]

/** The order as it stood for whoever works on it: under way, its cautions read. Who has it now reads them for themselves. */
export function asItStood(facts: OrderFacts, { kind }: ParsedWorkEntry, { atIt, readAt }: Hands): OrderFacts {
  const counts = ELSEWHERE.includes(facts.order.state) ? AT_THE_MACHINE : ALSO_WHEN_ENDED
  if (!atIt || !counts.includes(kind) || facts.order.state === 'under_way' || facts.order.state === 'waiting') return facts
  return { ...facts, order: { ...facts.order, state: 'under_way', acknowledgedAt: facts.order.acknowledgedAt ?? readAt } }
}

/** An order that was called off, and was worked on all the same, lives: somebody looks over what was done. */
export async function callBack(changing: Changing, { order }: OrderFacts, { kind }: ParsedWorkEntry, hands: Hands): Promise<void> {
  if (!hands.atIt || order.state !== 'cancelled' || (kind !== 'task_done' && kind !== 'finish')) return
  await changing.run(
    `UPDATE work_order SET state = 'under_way', cancel_reason = NULL, note = trim(both E'\\n' from note || E'\\n' || $3),
       cautions_acknowledged_at = COALESCE(cautions_acknowledged_at, $4), cautions_acknowledged_by = COALESCE(cautions_acknowledged_by, $5)
     WHERE organisation_id = $1 AND id = $2`,
    [
      order.id,
      `Called off (${order.cancelReason ?? ''}) while ${changing.who.name} was at it without a network: what they did counts.`,
      hands.readAt,
      hands.readAt === null ? null : hands.personId,
    ],
  )
}
