import { newId } from '@tapewarden/platform'
import type { PlanTask } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { dayText } from './days.js'
import type { OpenedOccurrence, PassPlace } from './write-occurrences.js'

/** Small outside care of instructed people is ticked on a round; everything else needs an order. */
export function needsWorkOrder(task: Pick<PlanTask, 'reach' | 'skill'>): boolean {
  return task.reach !== 'outside' || task.skill !== 'instructed'
}

interface Draft {
  workOrderId: string
  machineId: string
  isNew: boolean
  occurrences: OpenedOccurrence[]
}

/** Orders drafted on this local day that nobody has touched: what opens later the same day is added to them. */
async function draftedToday(scope: PgScope, dayBegins: Date, machineIds: readonly string[]): Promise<Map<string, string>> {
  const rows = await scope.arrays<[string, string]>(
    `SELECT machine_id, id FROM work_order WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND state = 'drafted' AND version = 1 AND created_at >= $3`,
    [scope.organisationId, machineIds, dayBegins],
  )
  return new Map(rows)
}

async function takeNumbers(scope: PgScope, howMany: number): Promise<number> {
  const rows = await scope.rows<{ last_number: number }>(
    `INSERT INTO work_order_number AS n (organisation_id, last_number) VALUES ($1, $2)
     ON CONFLICT (organisation_id) DO UPDATE SET last_number = n.last_number + excluded.last_number RETURNING last_number`,
    [scope.organisationId, howMany],
  )
  return (rows[0]?.last_number ?? howMany) - howMany
}

async function insertOrders(scope: PgScope, place: PassPlace, drafts: readonly Draft[]): Promise<void> {
  if (drafts.length === 0) return
  const before = await takeNumbers(scope, drafts.length)
  const list = drafts.map((draft, index) => ({
    id: draft.workOrderId,
    number: before + index + 1,
    machine_id: draft.machineId,
    planned_on: dayText(Math.min(...draft.occurrences.map(({ change }) => change.dueOn))),
  }))
  await scope.run(
    `INSERT INTO work_order (organisation_id, id, number, machine_id, warehouse_id, state, planned_on, created_at)
     SELECT $1, id, number, machine_id, $3, 'drafted', planned_on, $4 FROM jsonb_to_recordset($2::jsonb) AS w(id uuid, number integer, machine_id uuid, planned_on date)`,
    [scope.organisationId, JSON.stringify(list), place.warehouseId, place.now],
  )
}

async function insertTasks(scope: PgScope, drafts: readonly Draft[]): Promise<void> {
  const list = drafts.flatMap((draft) =>
    draft.occurrences.map(({ occurrenceId, change }) => ({
      id: newId(),
      work_order_id: draft.workOrderId,
      occurrence_id: occurrenceId,
      plan_task_id: change.planTaskId,
    })),
  )
  // The order of the sheet is the plan's.
  await scope.run(
    `INSERT INTO work_order_task (organisation_id, id, work_order_id, occurrence_id, plan_task_id, position)
     SELECT $1, t.id, t.work_order_id, t.occurrence_id, t.plan_task_id, p.position
     FROM jsonb_to_recordset($2::jsonb) AS t(id uuid, work_order_id uuid, occurrence_id uuid, plan_task_id uuid)
     JOIN plan_task p ON p.organisation_id = $1 AND p.id = t.plan_task_id
     ON CONFLICT DO NOTHING`,
    [scope.organisationId, JSON.stringify(list)],
  )
}

/** Drafts one order a machine for what opened today and is not ticked on a round. @returns how many are new */
export async function draftWorkOrders(
  scope: PgScope,
  place: PassPlace & { dayBegins: Date },
  opened: readonly OpenedOccurrence[],
  taskOf: (planTaskId: string) => PlanTask | undefined,
): Promise<number> {
  const byMachine = new Map<string, OpenedOccurrence[]>()
  for (const one of opened) {
    const task = taskOf(one.change.planTaskId)
    if (!task || !needsWorkOrder(task)) continue
    byMachine.set(one.machineId, [...(byMachine.get(one.machineId) ?? []), one])
  }
  if (byMachine.size === 0) return 0
  const present = await draftedToday(scope, place.dayBegins, [...byMachine.keys()])
  const drafts = [...byMachine].map(([machineId, occurrences]): Draft => {
    const workOrderId = present.get(machineId)
    return { workOrderId: workOrderId ?? newId(), machineId, isNew: workOrderId === undefined, occurrences }
  })
  const added = drafts.filter((draft) => draft.isNew)
  await insertOrders(scope, place, added)
  await insertTasks(scope, drafts)
  return added.length
}

/** Takes ended occurrences off orders that are still drafts; a draft left empty is cancelled. Orders in people's hands stay as they are. */
export async function withdrawFromDrafts(scope: PgScope, superseded: readonly string[]): Promise<void> {
  if (superseded.length === 0) return
  const rows = await scope.rows<{ work_order_id: string }>(
    `DELETE FROM work_order_task t USING work_order w
     WHERE t.organisation_id = $1 AND t.occurrence_id = ANY($2::uuid[]) AND t.outcome IS NULL AND w.organisation_id = $1 AND w.id = t.work_order_id AND w.state = 'drafted'
     RETURNING t.work_order_id`,
    [scope.organisationId, superseded],
  )
  if (rows.length === 0) return
  await scope.run(
    `UPDATE work_order w SET state = 'cancelled', cancel_reason = 'What it was for is no longer due.', version = w.version + 1
     WHERE w.organisation_id = $1 AND w.id = ANY($2::uuid[]) AND w.state = 'drafted' AND NOT EXISTS (SELECT 1 FROM work_order_task t WHERE t.organisation_id = $1 AND t.work_order_id = w.id)`,
    [scope.organisationId, [...new Set(rows.map((row) => row.work_order_id))]],
  )
}
