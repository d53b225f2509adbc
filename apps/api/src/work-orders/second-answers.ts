/** Two people, or two telephones, at the same order (rule 14): nothing typed is lost, and only what differs is a conflict. */
import { judgeSecondAnswer } from '@tapewarden/scheduling'
import type { ParsedWorkEntry, WorkEntryOutcome } from '@tapewarden/shared'
import { lastMeasured, type OrderFacts } from './readiness.js'

type Kept = { outcome: Extract<WorkEntryOutcome['outcome'], 'kept_as_evidence' | 'conflict'>; reason: string }
const MM_PER_INCH = 25.4
const CLOSED = new Set(['done', 'looked_over', 'cancelled'])
/** Entries that answer something; those that move the order through its life are refused when it is too late for them. */
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
  const valueMm = entry.unit === 'in' ? entry.value * MM_PER_INCH : entry.value
  const judged = judgeSecondAnswer(
    { outcome: 'done', measured: first ? { [entry.measurementKey]: first.valueMm } : {} },
    { outcome: 'done', measured: { [entry.measurementKey]: valueMm } },
  )
  return judged === 'conflict'
    ? { outcome: 'conflict', reason: `${first?.valueMm} mm was measured before, now ${valueMm} mm: somebody must say which counts.` }
    : { outcome: 'kept_as_evidence', reason: 'The same was measured before.' }
}

/** @returns null: the entry is applied as usual */
export function keptOnly(facts: OrderFacts, entry: ParsedWorkEntry): Kept | null {
  const task = 'taskId' in entry ? facts.tasks.find(({ id }) => id === entry.taskId) : undefined
  if (entry.kind === 'measure' && task?.outcome === 'done') return measuredTwice(facts, entry)
  if (entry.kind === 'task_done' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already.` }
  if (entry.kind === 'task_not_done' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already; that outweighs.` }
  if (entry.kind === 'answer_step' && task?.outcome === 'done')
    return { outcome: 'kept_as_evidence', reason: `${task.name} was done already.` }
  if (CLOSED.has(facts.order.state) && ANSWERS.has(entry.kind))
    return { outcome: 'kept_as_evidence', reason: `The order was ${facts.order.state.replaceAll('_', ' ')} already.` }
  return null
}
