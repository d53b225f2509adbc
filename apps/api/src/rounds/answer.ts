import { ConflictError, ForbiddenError, InvalidError, NotFoundError } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes, RoundLine } from '@tapewarden/shared'
import { complete, takeBack } from '../completion/complete.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { acknowledgedAt, type Month, monthOf, roundLine, roundTasks, type RoundTaskRow, roundWarehouse } from './round.js'

export type RoundAnswer = Omit<RouteBody<Routes['answerRound']>, 'warehouseId' | 'month'>
const AHEAD_MS = 300_000

export async function acknowledge(changing: Changing, warehouseId: string, month: string): Promise<void> {
  await roundWarehouse(changing, warehouseId)
  if (await acknowledgedAt(changing, warehouseId, month)) return
  changing.note({ action: 'acknowledge cautions', subjectKind: 'round', subjectId: warehouseId, after: { month } })
  await changing.finish()
  changing.changes.length = 0
}

interface EntryRow extends Record<string, unknown> {
  id: string
  machineId: string
  kind: string
  personId: string | null
  content: { warehouseId: string; month: string; recordIds?: string[] }
  reason: string | null
}

function entryOf(changing: Changing, entryId: string): Promise<EntryRow | null> {
  return changing.maybeOne<EntryRow>(
    `SELECT id, machine_id AS "machineId", kind, person_id AS "personId", content, outcome_reason AS reason FROM work_entry
     WHERE organisation_id = $1 AND id = $2 AND kind IN ('round_done', 'round_not_done') FOR UPDATE`,
    [entryId],
  )
}

async function keep(
  changing: Changing,
  answer: RoundAnswer,
  content: object,
  outcome: 'applied' | 'kept_as_evidence',
  at: Date,
): Promise<void> {
  await changing.run(
    `INSERT INTO work_entry (organisation_id, id, machine_id, person_id, kind, content, made_at, received_at, outcome) VALUES ($1, $2, $3, $4, $5, $6::jsonb, $7, $8, $9)`,
    [
      answer.entryId,
      answer.machineId,
      changing.who.personId,
      answer.outcome === 'done' ? 'round_done' : 'round_not_done',
      JSON.stringify(content),
      at,
      changing.now,
      outcome,
    ],
  )
}

/** The tasks that this answer is for: those named, else everything still open on the line. */
function tasksFor(answer: RoundAnswer, onLine: readonly RoundTaskRow[]): RoundTaskRow[] {
  if (answer.occurrenceIds === undefined) return onLine.filter((task) => task.state === 'open')
  const named = onLine.filter((task) => answer.occurrenceIds?.includes(task.occurrenceId))
  if (named.length !== new Set(answer.occurrenceIds).size)
    throw new InvalidError('NOT_ON_THE_ROUND', "One of these is not on this machine's line.", '/occurrenceIds')
  return named
}

/**
 * One machine answered, once for each entry id. A second 'done' is evidence and no conflict; 'done' outweighs a reason
 * (rule 14). An entry made offline counts on the day it was made.
 */
export async function answerRound(
  changing: Changing,
  warehouseId: string,
  monthText: string,
  answer: RoundAnswer,
  source: 'round' | 'mail_link',
): Promise<RouteResult<Routes['answerRound']>> {
  const warehouse = await roundWarehouse(changing, warehouseId)
  const month = monthOf(monthText)
  await changing.rows(`SELECT id FROM machine WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [answer.machineId])
  if (await entryOf(changing, answer.entryId))
    return {
      entryId: answer.entryId,
      outcome: 'already',
      reason: null,
      line: await roundLine(changing, warehouseId, month, answer.machineId),
    }
  const line = await roundLine(changing, warehouseId, month, answer.machineId)
  const at = momentOf(changing, answer, warehouse.zone, month)
  if (!line.mayDo) throw new ForbiddenError('NOT_INSTRUCTED', 'Nobody has shown you this care on this machine type yet.')
  if (!(await acknowledgedAt(changing, warehouseId, month.month)))
    throw new InvalidError('CAUTIONS_NOT_ACKNOWLEDGED', 'The cautions come first: read and acknowledge them.')
  const onLine = (await roundTasks(changing, warehouseId, month)).filter((task) => task.machineId === answer.machineId)
  const tasks = tasksFor(answer, onLine)
  const recordIds = answer.outcome === 'done' ? await finishAll(changing, answer, tasks, at, warehouse.zone, source) : []
  const open = onLine.some((task) => task.state === 'open')
  const outcome = open || tasks.some((task) => task.state === 'open') ? 'applied' : 'kept_as_evidence'
  const occurrenceIds = tasks.map((task) => task.occurrenceId)
  await keep(
    changing,
    answer,
    { warehouseId, month: month.month, reason: answer.reason ?? null, occurrenceIds, recordIds, source },
    outcome,
    at,
  )
  changing.note({ action: `round: ${answer.outcome}`, subjectKind: 'machine', subjectId: answer.machineId, after: { ...answer, source } })
  if (answer.outcome === 'done') changing.datesMayMove(warehouseId)
  return {
    entryId: answer.entryId,
    outcome,
    reason: outcome === 'applied' ? null : 'It was done already; this is kept as evidence.',
    line: await roundLine(changing, warehouseId, month, answer.machineId),
  }
}

function momentOf(changing: Changing, answer: RoundAnswer, zone: string, month: Month): Date {
  const at = new Date(answer.madeAt)
  if (at.getTime() > changing.now.getTime() + AHEAD_MS)
    throw new InvalidError('IN_THE_FUTURE', 'This lies in the future: check the clock of the phone.', '/madeAt')
  const day = localDateOf(at, zone)
  if (day < month.first || day > month.last)
    throw new InvalidError('NOT_THIS_MONTH', `It was made on ${day}, which is not in ${month.month}.`, '/madeAt')
  return at > changing.now ? changing.now : at
}

async function finishAll(
  changing: Changing,
  answer: RoundAnswer,
  tasks: readonly RoundTaskRow[],
  at: Date,
  zone: string,
  source: 'round' | 'mail_link',
): Promise<string[]> {
  const recordIds: string[] = []
  for (const task of tasks) {
    const { recordId } = await complete(changing, {
      machineId: answer.machineId,
      machineTypeId: task.machineTypeId,
      serviceTaskId: task.serviceTaskId,
      planTaskId: task.planTaskId,
      occurrenceId: task.occurrenceId,
      workOrderId: null,
      source,
      doneAt: at,
      doneOn: localDateOf(at, zone),
      fittedComponentKey: null,
      measured: [],
    })
    recordIds.push(recordId)
  }
  return recordIds
}

/** At once, by who answered or by the desk. What it settled is open again. */
export async function undoAnswer(changing: Changing, entryId: string): Promise<RoundLine> {
  const entry = await entryOf(changing, entryId)
  if (!entry) throw new NotFoundError('answer')
  const { warehouseId, month } = entry.content
  if (changing.who.warehouseIds !== null && !changing.who.warehouseIds.includes(warehouseId)) throw new NotFoundError('answer')
  if (changing.who.roundMonth !== null && changing.who.roundMonth !== month) throw new NotFoundError('answer')
  const desk = changing.who.role === 'manager' || changing.who.role === 'administrator'
  if (entry.personId !== changing.who.personId && !desk)
    throw new ForbiddenError('NOT_YOURS', 'Only who answered, or a manager, takes it back.')
  if (entry.reason === 'taken back') throw new ConflictError('TAKEN_BACK', 'This was taken back already.')
  for (const recordId of entry.content.recordIds ?? []) await takeBack(changing, recordId, 'taken back')
  await changing.run(
    `UPDATE work_entry SET outcome = 'kept_as_evidence', outcome_reason = 'taken back' WHERE organisation_id = $1 AND id = $2`,
    [entryId],
  )
  changing.note({ action: 'round: take back', subjectKind: 'machine', subjectId: entry.machineId, before: entry.content })
  changing.datesMayMove(warehouseId)
  return roundLine(changing, warehouseId, monthOf(month), entry.machineId)
}
