import { newId } from '@tapewarden/platform'
import {
  completeTask,
  dateOf,
  dayOf,
  type MeasuringLimits,
  type TaskCompletion,
  type TaskDone,
  type UseAnchor,
} from '@tapewarden/scheduling'
import type { OccurrenceKind, Trigger } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'

/** One task finished on one machine, by sheet, round or mail link. */
export interface Completion {
  machineId: string
  machineTypeId: string
  serviceTaskId: string
  planTaskId: string
  occurrenceId: string | null
  workOrderId: string | null
  source: 'work_order' | 'round' | 'mail_link' | 'desk'
  doneAt: Date
  /** Local day of doneAt where the machine stands. */
  doneOn: string
  /** Who did it, where that is not who says so. */
  doneBy?: string
  /** Component type of which one was fitted with this task; null: none. */
  fittedComponentKey: string | null
  measured: readonly { limits: MeasuringLimits; valueMm: number }[]
}
export interface Completed {
  recordId: string
  settled: boolean
  settledOccurrenceId: string | null
  /** Not empty: nothing may be handed back before these are seen to. */
  blocks: TaskCompletion['blocksHandBack']
  /** Tasks that what was measured asks for. */
  arising: readonly string[]
}

interface TaskRow extends Record<string, unknown> {
  key: string
  triggers: Trigger[]
  overrunCounts: boolean
  componentKey: string | null
  componentId: string | null
  newOn: string | null
  stripsTotal: number | null
}
interface LastRow extends Record<string, unknown> {
  doneOn: string
  anchorOn: string
  anchorSteps: number
  useAnchorOn: string | null
  useAnchorUnit: UseAnchor['unit'] | null
  useAnchorAmount: number
}
interface ForecastRow extends Record<string, unknown> {
  governing: Trigger['kind']
  likelyOn: string
}
interface OccurrenceRow extends Record<string, unknown> {
  id: string
  state: 'open' | 'done' | 'skipped' | 'superseded'
  kind: OccurrenceKind
  governing: Trigger['kind']
  nominalOn: string
  dueOn: string
  windowFrom: string
  windowTo: string
}

const TASK = `SELECT k.key, pt.triggers, pt.overrun_counts AS "overrunCounts", c.key AS "componentKey",
    (SELECT cp.component_id FROM component_placement cp JOIN component x ON x.organisation_id = cp.organisation_id AND x.id = cp.component_id
      WHERE cp.organisation_id = $1 AND cp.machine_id = $3 AND cp.to_date IS NULL AND x.component_type_id = pt.component_type_id ORDER BY cp.from_date DESC NULLS LAST LIMIT 1) AS "componentId",
    COALESCE((SELECT x.new_on FROM component_placement cp JOIN component x ON x.organisation_id = cp.organisation_id AND x.id = cp.component_id
      WHERE cp.organisation_id = $1 AND cp.machine_id = $3 AND cp.to_date IS NULL AND x.component_type_id = pt.component_type_id ORDER BY cp.from_date DESC NULLS LAST LIMIT 1),
      (SELECT commissioned_on FROM machine WHERE organisation_id = $1 AND id = $3)) AS "newOn",
    (SELECT l.strips_total FROM ledger_day l WHERE l.organisation_id = $1 AND l.machine_id = $3 AND l.day <= $4 ORDER BY l.day DESC LIMIT 1) AS "stripsTotal"
  FROM plan_task pt JOIN service_task k ON k.organisation_id = pt.organisation_id AND k.id = pt.service_task_id
  LEFT JOIN component_type c ON c.organisation_id = pt.organisation_id AND c.id = pt.component_type_id
  WHERE pt.organisation_id = $1 AND pt.id = $2`

async function read(changing: Changing, completion: Completion) {
  const task = await changing.one<TaskRow>('task', TASK, [completion.planTaskId, completion.machineId, completion.doneOn])
  const last = await changing.maybeOne<LastRow>(
    `SELECT done_on AS "doneOn", anchor_on AS "anchorOn", anchor_steps AS "anchorSteps",
       use_anchor_on AS "useAnchorOn", use_anchor_unit AS "useAnchorUnit", use_anchor_amount AS "useAnchorAmount" FROM service_record
     WHERE organisation_id = $1 AND machine_id = $2 AND service_task_id = $3 AND settles AND (component_id IS NULL OR component_id = $4)
     ORDER BY done_on DESC, created_at DESC, id DESC LIMIT 1`,
    [completion.machineId, completion.serviceTaskId, task.componentId],
  )
  const occurrence =
    completion.occurrenceId === null
      ? null
      : await changing.maybeOne<OccurrenceRow>(
          `SELECT id, state, kind, governing_trigger AS governing, nominal_on AS "nominalOn", due_on AS "dueOn", window_from AS "windowFrom", window_to AS "windowTo"
           FROM occurrence WHERE organisation_id = $1 AND id = $2 FOR UPDATE`,
          [completion.occurrenceId],
        )
  const forecast =
    completion.occurrenceId === null
      ? await changing.maybeOne<ForecastRow>(
          `SELECT governing_trigger AS governing, likely_on AS "likelyOn" FROM forecast
           WHERE organisation_id = $1 AND machine_id = $2 AND service_task_id = $3 AND governing_trigger IS NOT NULL AND likely_on IS NOT NULL`,
          [completion.machineId, completion.serviceTaskId],
        )
      : null
  return { task, last, occurrence, forecast }
}

function lastOf(last: LastRow): TaskDone['last'] {
  const { useAnchorOn, useAnchorUnit, useAnchorAmount } = last
  return {
    doneOn: dayOf(last.doneOn),
    anchorOn: dayOf(last.anchorOn),
    anchorSteps: last.anchorSteps,
    ...(useAnchorOn === null || useAnchorUnit === null
      ? {}
      : { useAnchor: { on: dayOf(useAnchorOn), unit: useAnchorUnit, amount: useAnchorAmount } }),
  }
}

/** Writes what the pure decision says: record, occurrence, findings, situations. All in the caller's transaction. */
export async function complete(changing: Changing, completion: Completion): Promise<Completed> {
  const { task, last, occurrence, forecast } = await read(changing, completion)
  const decided = completeTask({
    task,
    doneOn: dayOf(completion.doneOn),
    last: last && lastOf(last),
    newOn: task.newOn === null ? null : dayOf(task.newOn),
    forecast: forecast && { governing: forecast.governing, likelyOn: dayOf(forecast.likelyOn) },
    occurrence: occurrence && {
      ...occurrence,
      nominalOn: dayOf(occurrence.nominalOn),
      dueOn: dayOf(occurrence.dueOn),
      windowFrom: dayOf(occurrence.windowFrom),
      windowTo: dayOf(occurrence.windowTo),
    },
    fittedComponentKey: completion.fittedComponentKey,
    measured: completion.measured,
    units: changing.who.units,
  })
  const recordId = await insertRecord(changing, completion, decided, task)
  if (decided.settlesOccurrenceId !== null) await settleOccurrence(changing, decided.settlesOccurrenceId, completion)
  if (decided.settlesFindingsUpTo !== null) await settleFindings(changing, completion, recordId, dateOf(decided.settlesFindingsUpTo))
  const arising = await insertArising(changing, completion, decided, task)
  await insertSituations(changing, completion, decided)
  return {
    recordId,
    settled: decided.record.settles,
    settledOccurrenceId: decided.settlesOccurrenceId,
    blocks: decided.blocksHandBack,
    arising,
  }
}

async function insertRecord(changing: Changing, completion: Completion, decided: TaskCompletion, task: TaskRow): Promise<string> {
  const id = newId()
  const { useAnchor } = decided.record
  await changing.run(
    `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, component_id, occurrence_id, work_order_id, done_on, done_at, person_id, person_name,
       source, anchor_on, anchor_steps, strips_total, settles, created_at, use_anchor_on, use_anchor_unit, use_anchor_amount)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)`,
    [
      id,
      completion.machineId,
      completion.serviceTaskId,
      task.componentId,
      completion.occurrenceId,
      completion.workOrderId,
      completion.doneOn,
      completion.doneAt,
      completion.doneBy === undefined ? changing.who.personId : null,
      completion.doneBy ?? changing.who.name,
      completion.source,
      dateOf(decided.record.anchorOn),
      decided.record.anchorSteps,
      task.stripsTotal,
      decided.record.settles,
      changing.now,
      useAnchor ? dateOf(useAnchor.on) : null,
      useAnchor?.unit ?? null,
      useAnchor?.amount ?? 0,
    ],
  )
  return id
}

async function settleOccurrence(changing: Changing, occurrenceId: string, completion: Completion): Promise<void> {
  await changing.run(
    `UPDATE occurrence SET state = 'done', done_on = $3, done_by = $4, ended_on = $3, end_reason = 'done', version = version + 1
     WHERE organisation_id = $1 AND id = $2 AND state = 'open'`,
    [occurrenceId, completion.doneOn, completion.doneBy === undefined ? changing.who.personId : null],
  )
}

async function settleFindings(changing: Changing, completion: Completion, recordId: string, upTo: string): Promise<void> {
  await changing.run(
    `UPDATE finding SET settled_on = $5, settled_by_record_id = $6
     WHERE organisation_id = $1 AND machine_id = $2 AND service_task_id = $3 AND settled_on IS NULL AND found_on <= $4`,
    [completion.machineId, completion.serviceTaskId, upTo, completion.doneOn, recordId],
  )
}

/** One open finding a task and component: measuring the same worn brush twice asks for one replacement. */
async function insertArising(changing: Changing, completion: Completion, decided: TaskCompletion, task: TaskRow): Promise<string[]> {
  for (const finding of decided.findings)
    await changing.run(
      `INSERT INTO finding (organisation_id, id, machine_id, component_id, work_order_id, service_task_id, found_on, due_on, text, safety, created_at)
       SELECT $1, $2, $3, $4, $5, k.id, $6, $7, $8, false, $9 FROM service_task k
       WHERE k.organisation_id = $1 AND k.machine_type_id = $10 AND k.key = $11
         AND NOT EXISTS (SELECT 1 FROM finding f WHERE f.organisation_id = $1 AND f.machine_id = $3 AND f.service_task_id = k.id AND f.settled_on IS NULL
           AND f.component_id IS NOT DISTINCT FROM $4::uuid AND (f.due_on IS NOT DISTINCT FROM $7::date OR f.due_on <= $7::date))`,
      [
        newId(),
        completion.machineId,
        task.componentId,
        completion.workOrderId,
        dateOf(finding.foundOn),
        finding.dueOn === null ? null : dateOf(finding.dueOn),
        finding.text,
        changing.now,
        completion.machineTypeId,
        finding.taskKey,
      ],
    )
  return decided.findings.map((finding) => finding.taskKey)
}

async function insertSituations(changing: Changing, completion: Completion, decided: TaskCompletion): Promise<void> {
  for (const situation of decided.situations)
    await changing.run(
      `INSERT INTO situation (organisation_id, id, machine_id, kind, happened_on, created_at) VALUES ($1, $2, $3, $4, $5, $6)`,
      [newId(), completion.machineId, situation.kind, dateOf(situation.on), changing.now],
    )
}

/** Takes a 'done' back: its record counts no longer, and what it settled is open again unless something took its place. */
export async function takeBack(changing: Changing, recordId: string, reason: string): Promise<void> {
  const record = await changing.maybeOne<{ occurrenceId: string | null; machineId: string; taskId: string }>(
    `UPDATE service_record SET settles = false, note = $3 WHERE organisation_id = $1 AND id = $2
     RETURNING occurrence_id AS "occurrenceId", machine_id AS "machineId", service_task_id AS "taskId"`,
    [recordId, reason],
  )
  if (!record) return
  await changing.run(
    `UPDATE finding SET settled_on = NULL, settled_by_record_id = NULL WHERE organisation_id = $1 AND settled_by_record_id = $2`,
    [recordId],
  )
  if (record.occurrenceId === null) return
  await changing.run(
    `UPDATE occurrence o SET state = 'open', done_on = NULL, done_by = NULL, ended_on = NULL, end_reason = NULL, version = o.version + 1
     WHERE o.organisation_id = $1 AND o.id = $2 AND o.state = 'done'
       AND NOT EXISTS (SELECT 1 FROM service_record r WHERE r.organisation_id = $1 AND r.occurrence_id = o.id AND r.settles)
       AND NOT EXISTS (SELECT 1 FROM occurrence x WHERE x.organisation_id = $1 AND x.machine_id = o.machine_id AND x.service_task_id = o.service_task_id AND x.state = 'open')`,
    [record.occurrenceId],
  )
}
