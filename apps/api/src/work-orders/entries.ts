/** What is typed on site, one entry at a time, each applied once whatever is sent twice. */
import { AppError, InvalidError } from '@tapewarden/platform'
import { type ParsedWorkEntry, type RouteBody, type Routes, workEntrySchema, type WorkEntryOutcome } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { answerStep, checkFunction, find, measure, taskAgain, taskDone, taskNotDone } from './entry-answers.js'
import { putBackPart, usePart } from './entry-parts.js'
import { accept, acknowledge, finish, handBack, resume, start, tagOut, wait } from './entry-state.js'
import { asItStood, callBack, handsOf, reachOf } from './hands.js'
import { orderOf } from './order-rows.js'
import { keptOnly } from './second-answers.js'
import type { OrderFacts } from './readiness.js'
import { factsOf, sheetOf } from './sheet.js'

/** A phone's clock may run ahead by so much. */
const AHEAD_MS = 5 * 60_000

function momentOf(entry: ParsedWorkEntry, now: Date): Date {
  const at = new Date(entry.madeAt)
  if (at.getTime() > now.getTime() + AHEAD_MS)
    throw new InvalidError('IN_THE_FUTURE', 'This entry lies in the future: check the clock of the phone.', '/madeAt')
  return at > now ? now : at
}

async function apply(changing: Changing, facts: OrderFacts, entry: ParsedWorkEntry, at: Date): Promise<void> {
  switch (entry.kind) {
    case 'accept':
      return accept(changing, facts)
    case 'acknowledge_cautions':
      return acknowledge(changing, facts, at)
    case 'start':
      return start(changing, facts, at)
    case 'wait':
      return wait(changing, facts, entry, at)
    case 'resume':
      return resume(changing, facts, at)
    case 'answer_step':
      return answerStep(changing, facts, entry, at)
    case 'measure':
      return measure(changing, facts, entry, at)
    case 'use_part':
      return usePart(changing, facts, entry, at)
    case 'put_back_part':
      return putBackPart(changing, facts, entry)
    case 'finding':
      return find(changing, facts, entry, at)
    case 'task_done':
      return taskDone(changing, facts, entry, at)
    case 'task_not_done':
      return taskNotDone(changing, facts, entry, at)
    case 'task_again':
      return taskAgain(changing, facts, entry)
    case 'function_check':
      return checkFunction(changing, facts, entry, at)
    case 'tag_out':
      return tagOut(changing, facts, entry, at)
    case 'note':
      await changing.run(
        `UPDATE work_order SET note = trim(both E'\\n' from note || E'\\n' || $3) WHERE organisation_id = $1 AND id = $2`,
        [facts.order.id, entry.text],
      )
      return
    case 'hand_back':
      return handBack(changing, facts, entry, at)
    case 'finish':
      return finish(changing, facts, entry, at)
  }
}

async function earlier(changing: Changing, entryId: string): Promise<WorkEntryOutcome | null> {
  const row = await changing.maybeOne<{ outcome: WorkEntryOutcome['outcome']; reason: string | null }>(
    `SELECT outcome, outcome_reason AS reason FROM work_entry WHERE organisation_id = $1 AND id = $2`,
    [entryId],
  )
  return row && { entryId, outcome: row.outcome, already: true, code: null, reason: row.reason }
}

async function keep(
  changing: Changing,
  facts: OrderFacts,
  entry: ParsedWorkEntry,
  outcome: WorkEntryOutcome['outcome'],
  reason: string | null,
): Promise<void> {
  const { id, kind, madeAt, ...content } = entry
  const taskId = 'taskId' in entry ? entry.taskId : undefined
  const occurrenceId = facts.tasks.find((task) => task.id === taskId)?.occurrenceId ?? null
  await changing.run(
    `INSERT INTO work_entry (organisation_id, id, work_order_id, machine_id, occurrence_id, person_id, kind, content, made_at, received_at, outcome, outcome_reason)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8::jsonb, $9, $10, $11, $12)`,
    [
      id,
      facts.order.id,
      facts.order.machineId,
      occurrenceId,
      changing.who.personId,
      kind,
      JSON.stringify(content),
      madeAt,
      changing.now,
      outcome,
      reason,
    ],
  )
}

/** Applies one entry; throws what the rules refuse. The order's row is locked first, so two phones take turns. */
async function applyOnce(changing: Changing, workOrderId: string, entry: ParsedWorkEntry): Promise<WorkEntryOutcome> {
  const hands = await handsOf(changing, workOrderId)
  const facts = await factsOf(changing, workOrderId, true, reachOf(changing, hands))
  const known = await earlier(changing, entry.id)
  if (known) return known
  const at = momentOf(entry, changing.now)
  const kept = keptOnly(facts, entry, hands)
  if (!kept) {
    await callBack(changing, facts, entry, hands)
    await apply(changing, asItStood(facts, entry, hands), entry, at)
  }
  await keep(changing, facts, entry, kept?.outcome ?? 'applied', kept?.reason ?? null)
  await changing.run(
    `UPDATE work_order SET last_entry_at = GREATEST(COALESCE(last_entry_at, $3), $3), version = version + 1 WHERE organisation_id = $1 AND id = $2`,
    [workOrderId, changing.now],
  )
  changing.note({
    action: `entry: ${entry.kind}`,
    subjectKind: 'work order',
    subjectId: workOrderId,
    after: { ...entry, outcome: kept?.outcome ?? 'applied' },
  })
  return { entryId: entry.id, outcome: kept?.outcome ?? 'applied', already: false, code: null, reason: kept?.reason ?? null }
}

export async function addWorkEntry(changing: Changing, workOrderId: string, entry: ParsedWorkEntry) {
  const outcome = await applyOnce(changing, workOrderId, entry)
  const reach = reachOf(changing, await handsOf(changing, workOrderId))
  return { ...outcome, workOrder: await sheetOf(changing, workOrderId, reach) }
}

/** Entries kept on a phone, in their order: each by itself; a refused one is kept with its reason and stops no other. */
export async function syncWorkEntries(changing: Changing, body: RouteBody<Routes['syncWorkEntries']>) {
  const results: (WorkEntryOutcome & { index: number })[] = []
  for (const [index, { workOrderId, entry: raw }] of body.entries.entries()) {
    const parsed = workEntrySchema.safeParse(raw)
    const entryId = typeof raw.id === 'string' ? raw.id : ''
    if (!parsed.success) {
      results.push({
        index,
        entryId,
        outcome: 'refused',
        already: false,
        code: 'INVALID_ENTRY',
        reason: parsed.error.issues.map(({ path, message }) => `${path.join('/')} ${message}`).join('; '),
      })
      continue
    }
    results.push({ index, ...(await tryEntry(changing, workOrderId, parsed.data)) })
  }
  return { results }
}

async function tryEntry(changing: Changing, workOrderId: string, entry: ParsedWorkEntry): Promise<WorkEntryOutcome> {
  await changing.scope.run('SAVEPOINT entry')
  try {
    const outcome = await applyOnce(changing, workOrderId, entry)
    await changing.scope.run('RELEASE SAVEPOINT entry')
    return outcome
  } catch (error) {
    await changing.scope.run('ROLLBACK TO SAVEPOINT entry')
    if (!(error instanceof AppError) || error.retryable) throw error
    const seen = await orderOf(changing, workOrderId).catch(() => null)
    if (seen)
      await keep(
        changing,
        { order: seen, tasks: [], measurements: [], partsUsed: [], parts: [], units: changing.who.units },
        entry,
        'refused',
        error.message,
      )
    return { entryId: entry.id, outcome: 'refused', already: false, code: error.code, reason: error.message }
  }
}
