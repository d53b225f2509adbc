/** Entries that answer a sheet: steps, measured values, parts, findings, the function check, a task done or not. */
import { ConflictError, ForbiddenError, InvalidError, newId } from '@tapewarden/platform'
import { judgeFunctionCheck } from '@tapewarden/scheduling'
import type { ParsedWorkEntry } from '@tapewarden/shared'
import { complete } from '../completion/complete.js'
import { insertFinding } from '../findings/findings.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { inMm, limitsOf, replacesComponent } from './limits.js'
import { componentInPlace, exchange } from './exchange-component.js'
import { addFollowUp } from './follow-up.js'
import type { TaskRow } from './order-rows.js'
import { checkOf, lastMeasured, missingOfTask, type OrderFacts } from './readiness.js'
import { takeTaskBack } from './take-task-back.js'

type Of<Kind extends ParsedWorkEntry['kind']> = Extract<ParsedWorkEntry, { kind: Kind }>

/** Answers are given while the work is under way, after the cautions. */
export function requireUnderWay({ order }: OrderFacts): void {
  if (order.state !== 'under_way')
    throw new ConflictError('NOT_IN_THIS_STATE', `The order is ${order.state.replaceAll('_', ' ')}; begin or resume it first.`)
  if (order.acknowledgedAt === null)
    throw new InvalidError('CAUTIONS_NOT_ACKNOWLEDGED', 'The cautions come first: read and acknowledge them.')
}

function taskOf(facts: OrderFacts, taskId: string): TaskRow {
  const task = facts.tasks.find(({ id }) => id === taskId)
  if (!task) throw new InvalidError('UNKNOWN_TASK', 'This order has no such task.', '/taskId')
  return task
}

function openTaskOf(facts: OrderFacts, taskId: string): TaskRow {
  const task = taskOf(facts, taskId)
  if (task.outcome !== null) throw new ConflictError('TASK_CLOSED', `${task.name} is answered already.`)
  return task
}

const putAnswer = (changing: Changing, taskId: string, key: string, answer: string | number | boolean, at: Date): Promise<number> =>
  changing.run(
    `UPDATE work_order_task SET answers = answers || jsonb_build_object($3::text, $4::jsonb) WHERE organisation_id = $1 AND id = $2`,
    [taskId, key, JSON.stringify({ answer, at: at.toISOString(), by: changing.who.name })],
  )

export async function answerStep(changing: Changing, facts: OrderFacts, entry: Of<'answer_step'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const task = openTaskOf(facts, entry.taskId)
  const step = task.steps.find(({ key }) => key === entry.stepKey)
  if (!step) throw new InvalidError('UNKNOWN_STEP', 'This task has no such step.', '/stepKey')
  const { answer } = entry
  const fits =
    step.answer === 'tick' || step.answer === 'yes_no'
      ? typeof answer === 'boolean'
      : step.answer === 'choice'
        ? typeof answer === 'string' && (step.choices ?? []).includes(answer)
        : step.answer === 'text' && typeof answer === 'string' && answer.trim() !== ''
  if (!fits)
    throw new InvalidError(
      'WRONG_ANSWER',
      step.answer === 'measurement'
        ? 'This step is answered by a measured value.'
        : `This step is answered by: ${step.answer === 'choice' ? (step.choices ?? []).join(', ') : step.answer.replace('_', ' or ')}.`,
      '/answer',
    )
  await putAnswer(changing, task.id, step.key, answer, at)
}

/** A value beyond a limit is not implausible but a finding: it is taken as it is. */
export async function measure(changing: Changing, facts: OrderFacts, entry: Of<'measure'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const task = openTaskOf(facts, entry.taskId)
  const measurement = task.measurements.find(({ key }) => key === entry.measurementKey)
  if (!measurement) throw new InvalidError('UNKNOWN_MEASUREMENT', 'This task measures nothing of that name.', '/measurementKey')
  if ((measurement.unit === 'count') !== (entry.unit === 'count'))
    throw new InvalidError('WRONG_UNIT', `It is measured in ${measurement.unit === 'count' ? 'pieces' : 'mm or in'}.`, '/unit')
  if (entry.unit === 'count') {
    await putAnswer(changing, task.id, measurement.key, entry.value, at)
    return
  }
  const valueMm = inMm(entry)
  const mistyped = entry.instead ? facts.measurements.findLast(({ name }) => name === measurement.key) : undefined
  if (mistyped)
    await changing.run(`UPDATE measurement SET state = 'dismissed', set_aside_reason = $3 WHERE organisation_id = $1 AND id = $2`, [
      mistyped.id,
      `Mistyped, says ${changing.who.name}, who typed another value instead.`,
    ])
  await changing.run(
    `INSERT INTO measurement (organisation_id, id, machine_id, component_id, work_order_id, name, value_mm, entered_unit, entered_text, when_taken, measured_on, created_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`,
    [
      newId(),
      facts.order.machineId,
      await componentInPlace(changing, facts.order.machineId, task.componentTypeId),
      facts.order.id,
      measurement.key,
      valueMm,
      entry.unit,
      entry.enteredText,
      entry.whenTaken,
      localDateOf(at, facts.order.zone),
      at,
    ],
  )
  changing.datesMayMove(facts.order.warehouseId)
}

export async function find(changing: Changing, facts: OrderFacts, entry: Of<'finding'>, at: Date): Promise<void> {
  const { order } = facts
  await insertFinding(
    changing,
    order.machineId,
    order.machineTypeId,
    {
      text: entry.text,
      taskKey: entry.taskKey,
      withinDays: entry.withinDays,
      safety: entry.safety,
      workOrderId: order.id,
      foundOn: localDateOf(at, order.zone),
    },
    '/taskKey',
  )
  changing.datesMayMove(order.warehouseId)
}

export async function checkFunction(changing: Changing, facts: OrderFacts, entry: Of<'function_check'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const check = checkOf(facts)
  if (check.kind === 'none') throw new InvalidError('NO_FUNCTION_CHECK', 'Outside care needs no function check.')
  const { tape, roll, strips, coversOn, cordLookedAt, wetStripTore } = entry
  const judged = judgeFunctionCheck(check, { strips, coversOn, cordLookedAt, wetStripTore }, facts.order.supply !== 'none', facts.units)
  const before = facts.order.functionCheck as { attempt?: number } | null
  const result = {
    tape,
    roll,
    strips,
    coversOn,
    cordLookedAt,
    wetStripTore,
    withinTolerance: judged.withinTolerance,
    at: at.toISOString(),
    byName: changing.who.name,
    attempt: (before?.attempt ?? 0) + 1,
  }
  await changing.run(`UPDATE work_order SET function_check = $3::jsonb WHERE organisation_id = $1 AND id = $2`, [
    facts.order.id,
    JSON.stringify(result),
  ])
}

export async function taskNotDone(changing: Changing, facts: OrderFacts, entry: Of<'task_not_done'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const task = openTaskOf(facts, entry.taskId)
  await changing.run(
    `UPDATE work_order_task SET outcome = 'not_done', not_done_reason = $3, done_at = $4, done_by = $5 WHERE organisation_id = $1 AND id = $2`,
    [task.id, entry.reason, at, changing.who.personId],
  )
}

/**
 * While the order is still under way: what could not be done is done after all, and what was closed by mistake is open again, with its
 * answers. Not where a part was exchanged: that is in the machine's books, and the desk strikes it out. The machine is checked again.
 */
export async function taskAgain(changing: Changing, facts: OrderFacts, entry: Of<'task_again'>): Promise<void> {
  requireUnderWay(facts)
  const task = taskOf(facts, entry.taskId)
  if (task.outcome === null) throw new ConflictError('NOT_LEFT_UNDONE', `${task.name} is still to be done.`)
  if (task.outcome === 'done') {
    if (replacesComponent(task))
      throw new ConflictError(
        'PART_EXCHANGED',
        `${task.name} is done, and the part in the machine’s books is another now. Finish the order; the desk returns it with this task struck out.`,
      )
    await takeTaskBack(changing, facts.order.id, task.id, `Opened again by ${changing.who.name}`)
    changing.datesMayMove(facts.order.warehouseId)
  }
  await changing.run(
    `UPDATE work_order_task SET outcome = NULL, not_done_reason = NULL, done_at = NULL, done_by = NULL WHERE organisation_id = $1 AND id = $2`,
    [task.id],
  )
  await changing.run(`UPDATE work_order SET function_check = NULL WHERE organisation_id = $1 AND id = $2`, [facts.order.id])
}

/** The task's clocks start at the local day on which it was finished, whatever becomes of its order (rule 2). */
export async function taskDone(changing: Changing, facts: OrderFacts, entry: Of<'task_done'>, at: Date): Promise<void> {
  requireUnderWay(facts)
  const task = openTaskOf(facts, entry.taskId)
  if (task.skill === 'electrical' && !changing.who.electricallyQualified)
    throw new ForbiddenError('NEEDS_QUALIFIED_PERSON', `${task.name} is for a qualified electrical person.`)
  const missing = missingOfTask(task, facts)
  if (missing.length > 0) throw new InvalidError('NOT_READY', missing.map(({ text }) => text).join(' '), '', { missing })
  const { order } = facts
  const doneOn = localDateOf(at, order.zone)
  const replaces = replacesComponent(task)
  if (replaces && entry.removalReason === undefined)
    throw new InvalidError(
      'REMOVAL_REASON_MISSING',
      'Say why the old part was taken out: worn, broken, planned or unknown.',
      '/removalReason',
    )
  if (replaces) await exchange(changing, facts, task, entry, doneOn)
  const measured = task.measurements.flatMap((measurement) => {
    const last = lastMeasured(facts, measurement.key)
    return last ? [{ limits: limitsOf(measurement, order), valueMm: last.valueMm }] : []
  })
  const done = await complete(changing, {
    machineId: order.machineId,
    machineTypeId: order.machineTypeId,
    serviceTaskId: task.serviceTaskId,
    planTaskId: task.planTaskId,
    occurrenceId: task.occurrenceId,
    workOrderId: order.id,
    source: 'work_order',
    doneAt: at,
    doneOn,
    fittedComponentKey: replaces ? task.componentKey : null,
    measured,
  })
  await changing.run(
    `UPDATE measurement SET service_record_id = $4 WHERE organisation_id = $1 AND work_order_id = $2 AND name = ANY($3::text[]) AND service_record_id IS NULL`,
    [order.id, task.measurements.map(({ key }) => key), done.recordId],
  )
  await changing.run(`UPDATE work_order_task SET outcome = 'done', done_at = $3, done_by = $4 WHERE organisation_id = $1 AND id = $2`, [
    task.id,
    at,
    changing.who.personId,
  ])
  if (done.blocks.length > 0)
    for (const { opensTaskKey } of measured.map(({ limits }) => limits))
      if (opensTaskKey !== null && done.arising.includes(opensTaskKey))
        await addFollowUp(changing, facts, opensTaskKey, doneOn, done.blocks.map(({ text }) => text).join(' '))
  changing.datesMayMove(order.warehouseId)
}
