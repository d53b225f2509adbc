/** Entries that move an order through its life: accept, cautions, start, wait, resume, hand back, tag out, finish. */
import { ConflictError, ForbiddenError, InvalidError } from '@tapewarden/platform'
import type { ParsedWorkEntry } from '@tapewarden/shared'
import { setStatus } from '../machines/move.js'
import type { Changing } from '../use/work.js'
import { furthestReach, highestSkill } from './limits.js'
import { beginWorkOnStoppage, endPlannedStoppage, endStoppages, endWaits, noteWait } from './order-stoppage.js'
import { allowedActions, missingForDone, type OrderFacts } from './readiness.js'

type Of<Kind extends ParsedWorkEntry['kind']> = Extract<ParsedWorkEntry, { kind: Kind }>

/** @throws ConflictError where the order's state does not admit it */
function require(facts: OrderFacts, changing: Changing, action: 'accept' | 'start' | 'wait' | 'resume' | 'hand_back' | 'finish'): void {
  if (!allowedActions(facts.order.state, changing.who.role).includes(action))
    throw new ConflictError('NOT_IN_THIS_STATE', `The order is ${facts.order.state.replaceAll('_', ' ')}; this cannot be done with it now.`)
}

const set = (
  changing: Changing,
  orderId: string,
  what: string,
  values: readonly (string | number | boolean | Date | null)[] = [],
): Promise<number> => changing.run(`UPDATE work_order SET ${what} WHERE organisation_id = $1 AND id = $2`, [orderId, ...values])

export async function accept(changing: Changing, facts: OrderFacts): Promise<void> {
  require(facts, changing, 'accept')
  await set(changing, facts.order.id, `state = 'accepted', technician_id = COALESCE(technician_id, $3)`, [changing.who.personId])
}

export async function acknowledge(changing: Changing, facts: OrderFacts, at: Date): Promise<void> {
  if (['done', 'looked_over', 'cancelled', 'drafted'].includes(facts.order.state))
    throw new ConflictError('NOT_IN_THIS_STATE', 'This order is not open on site.')
  await set(
    changing,
    facts.order.id,
    `cautions_acknowledged_at = COALESCE(cautions_acknowledged_at, $3), cautions_acknowledged_by = COALESCE(cautions_acknowledged_by, $4)`,
    [at, changing.who.personId],
  )
}

/** Cautions stand before the first step of every sheet. A machine that is not ours to open is not opened. */
export async function start(changing: Changing, facts: OrderFacts, at: Date): Promise<void> {
  require(facts, changing, 'start')
  const { order, tasks } = facts
  const reach = furthestReach(tasks)
  if (order.acknowledgedAt === null)
    throw new InvalidError('CAUTIONS_NOT_ACKNOWLEDGED', 'The cautions come first: read and acknowledge them.')
  if (order.mayOpen === 'service_firm_only' && reach !== 'outside')
    throw new ForbiddenError(
      'NOT_OURS_TO_OPEN',
      `This machine is opened by its service firm only: ${order.serviceFirm} ${order.serviceTelephone}`.trim(),
    )
  await set(changing, order.id, `state = 'under_way', started_at = COALESCE(started_at, $3), technician_id = COALESCE(technician_id, $4)`, [
    at,
    changing.who.personId,
  ])
  if (reach !== 'outside') await beginWorkOnStoppage(changing, order, at)
}

/** 'On each pause, ask again': the cautions are acknowledged anew before the next step. */
export async function wait(changing: Changing, facts: OrderFacts, entry: Of<'wait'>, at: Date): Promise<void> {
  require(facts, changing, 'wait')
  await set(
    changing,
    facts.order.id,
    `state = 'waiting', waiting_for = $3, cautions_acknowledged_at = NULL, cautions_acknowledged_by = NULL`,
    [entry.waitingFor],
  )
  await noteWait(changing, facts.order.id, entry.waitingFor, at)
}

export async function resume(changing: Changing, facts: OrderFacts, at: Date): Promise<void> {
  require(facts, changing, 'resume')
  await set(changing, facts.order.id, `state = 'under_way', waiting_for = NULL`)
  await endWaits(changing, facts.order.id, at)
}

/** 'Not trained for this' goes back without blame; what was opened for it runs again. */
export async function handBack(changing: Changing, facts: OrderFacts, entry: Of<'hand_back'>, at: Date): Promise<void> {
  require(facts, changing, 'hand_back')
  await set(
    changing,
    facts.order.id,
    `state = 'returned', waiting_for = NULL, technician_id = NULL, cautions_acknowledged_at = NULL, cautions_acknowledged_by = NULL, note = trim(both E'\\n' from note || E'\\n' || $3)`,
    [`Handed back by ${changing.who.name}: ${entry.reason}`],
  )
  await endPlannedStoppage(changing, facts.order.id, at)
}

export async function tagOut(changing: Changing, facts: OrderFacts, entry: Of<'tag_out'>, at: Date): Promise<void> {
  if (!['accepted', 'under_way', 'waiting'].includes(facts.order.state))
    throw new ConflictError('NOT_IN_THIS_STATE', 'Only an order on site tags a machine out.')
  await set(changing, facts.order.id, 'tagged_out = true')
  if (facts.order.machineStatus !== 'tagged_out')
    await setStatus(changing, facts.order.machineId, 'tagged_out', at, entry.reason, facts.order.zone)
  changing.datesMayMove(facts.order.warehouseId)
}

/** Done needs every step, value, part, caution and the function check of its reach; the same for the phone and for programs. */
export async function finish(changing: Changing, facts: OrderFacts, entry: Of<'finish'>, at: Date): Promise<void> {
  require(facts, changing, 'finish')
  const missing = missingForDone(facts)
  if (missing.length > 0) throw new InvalidError('NOT_READY', missing.map(({ text }) => text).join(' '), '', { missing })
  const { order, tasks } = facts
  // Small outside care skips the looking over.
  const small = furthestReach(tasks) === 'outside' && highestSkill(tasks) === 'instructed'
  await set(
    changing,
    order.id,
    `state = '${small ? 'looked_over' : 'done'}', finished_at = $3, minutes_worked = $4, waiting_for = NULL, note = trim(both E'\\n' from note || E'\\n' || $5)`,
    [at, entry.minutesWorked, entry.note],
  )
  const checked = order.functionCheck as { at?: string } | null
  if (!order.taggedOut) await endStoppages(changing, order, at, checked?.at ?? null)
  changing.datesMayMove(order.warehouseId)
}
