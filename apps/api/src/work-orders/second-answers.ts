/** Two people, or two telephones, at the same order (rule 14): nothing typed is lost, and only what differs is a conflict. */
import { judgeSecondAnswer, sayMeasured } from '@tapewarden/scheduling'
import type { ParsedWorkEntry, WorkEntryOutcome } from '@tapewarden/shared'
import { type Hands, sayTaken, wentElsewhere } from './hands.js'
import { inMm } from './limits.js'
import { lastMeasured, type OrderFacts } from './readiness.js'

type Kept = { outcome: Extract<WorkEntryOutcome['outcome'], 'kept_as_evidence' | 'conflict'>; reason: string }
type State = OrderFacts['order']['state']
const CLOSED = new Set(['done', 'looked_over', 'cancelled'])
/** Entries that answer something. */
const ANSWERS = new Set<ParsedWorkEntry['kind']>([
  'answer_step',
  'measure',
  'task_done',
  'task_not_done',
  'function_check',
  'note',
  'acknowledge_cautions',
])

function measuredTwice(facts: OrderFacts, entry: Extract<ParsedWorkEntry, { kind: 'measure' }>): Kept {
  const first = lastMeasured(facts, entry.measurementKey)
  const valueMm = inMm(entry)
  const say = (mm: number): string => sayMeasured(mm, facts.units)
  const judged = judgeSecondAnswer(
    { outcome: 'done', measured: first ? { [entry.measurementKey]: first.valueMm } : {} },
    { outcome: 'done', measured: { [entry.measurementKey]: valueMm } },
  )
  return judged === 'conflict'
    ? {
        outcome: 'conflict',
        reason: `${first ? say(first.valueMm) : 'Another value'} was measured before, now ${say(valueMm)}: somebody must say which counts.`,
      }
    : { outcome: 'kept_as_evidence', reason: 'The same was measured before.' }
}

/** What an order has been through already is not refused to whoever says it once more: another telephone was faster. */
const SAID_BEFORE: Partial<Record<ParsedWorkEntry['kind'], readonly State[]>> = {
  accept: ['accepted', 'under_way', 'waiting', 'done', 'looked_over'],
  start: ['under_way', 'done', 'looked_over'],
  finish: ['done', 'looked_over'],
}

/** A step in the life of an order that somebody else, or the desk, has meanwhile brought further. */
function movedMeanwhile({ order }: OrderFacts, { kind }: ParsedWorkEntry, hands: Hands): Kept | null {
  if (SAID_BEFORE[kind]?.includes(order.state))
    return { outcome: 'kept_as_evidence', reason: `The order was ${order.state.replaceAll('_', ' ')} already.` }
  const late = hands.begun ? ['wait', 'resume', 'hand_back'] : hands.ofOrder && order.state === 'cancelled' ? ['accept', 'start'] : []
  return late.includes(kind) && wentElsewhere(order, hands) ? { outcome: 'kept_as_evidence', reason: sayTaken(order) } : null
}

/** @returns null: the entry is applied as usual */
export function keptOnly(facts: OrderFacts, entry: ParsedWorkEntry, hands: Hands): Kept | null {
  const task = 'taskId' in entry ? facts.tasks.find(({ id }) => id === entry.taskId) : undefined
  if (entry.kind === 'measure' && task?.outcome === 'done') return measuredTwice(facts, entry)
  if (entry.kind === 'task_done' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already.` }
  if (entry.kind === 'task_not_done' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already; that outweighs.` }
  if (entry.kind === 'answer_step' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already.` }
  const moved = movedMeanwhile(facts, entry, hands)
  if (moved) return moved
  // What was done at a machine was done, whatever the desk called off meanwhile.
  const calledOff = facts.order.state === 'cancelled' && hands.atIt
  if (CLOSED.has(facts.order.state) && ANSWERS.has(entry.kind) && !calledOff)
    return { outcome: 'kept_as_evidence', reason: `The order was ${facts.order.state.replaceAll('_', ' ')} already.` }
  return null
}
