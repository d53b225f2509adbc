import { newId } from '@tapewarden/platform'
import { addDays } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import type { OrderFacts } from './readiness.js'

interface Wanted extends Record<string, unknown> {
  serviceTaskId: string
  planTaskId: string
  componentId: string | null
  occurrenceId: string | null
}

/**
 * 'Replace now, or tag it out': the task that a value below never-below asks for comes onto this very sheet. Its occurrence is the
 * open one where there is one; else it opens now, as a finding due on the day itself, as the next planning pass would have it.
 */
export async function addFollowUp(changing: Changing, facts: OrderFacts, taskKey: string, foundOn: string, text: string): Promise<void> {
  const { order, tasks } = facts
  const wanted = await changing.maybeOne<Wanted>(
    `SELECT k.id AS "serviceTaskId", pt.id AS "planTaskId",
       (SELECT cp.component_id FROM component_placement cp JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
         WHERE cp.organisation_id = $1 AND cp.machine_id = $3 AND cp.to_date IS NULL AND c.component_type_id = pt.component_type_id LIMIT 1) AS "componentId",
       (SELECT o.id FROM occurrence o WHERE o.organisation_id = $1 AND o.machine_id = $3 AND o.service_task_id = k.id AND o.state = 'open') AS "occurrenceId"
     FROM service_task k JOIN plan_task pt ON pt.organisation_id = k.organisation_id AND pt.service_task_id = k.id
     JOIN service_plan s ON s.organisation_id = pt.organisation_id AND s.id = pt.service_plan_id
     WHERE k.organisation_id = $1 AND k.machine_type_id = $2 AND k.key = $4 ORDER BY s.plan_version DESC LIMIT 1`,
    [order.machineTypeId, order.machineId, taskKey],
  )
  if (!wanted || tasks.some((task) => task.serviceTaskId === wanted.serviceTaskId && task.outcome === null)) return
  const occurrenceId = wanted.occurrenceId ?? (await openOccurrence(changing, facts, wanted, foundOn, text))
  await changing.run(
    `INSERT INTO work_order_task (organisation_id, id, work_order_id, occurrence_id, plan_task_id, position) VALUES ($1, $2, $3, $4, $5, 1000)
     ON CONFLICT (organisation_id, work_order_id, occurrence_id) DO NOTHING`,
    [newId(), order.id, occurrenceId, wanted.planTaskId],
  )
}

async function openOccurrence(changing: Changing, { order }: OrderFacts, wanted: Wanted, foundOn: string, text: string): Promise<string> {
  const id = newId()
  await changing.run(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, component_id, sequence, kind, state, opened_on, nominal_on, window_from,
       window_to, hard_limit_on, due_on, late_from, governing_trigger, basis, created_at)
     SELECT $1, $2, $3, $4, $5, $6, $7, COALESCE(max(sequence), 0) + 1, 'finding', 'open', $8, $8, $8, $9, $10, $8, $9::date + 1, 'finding', $11::jsonb, $12
     FROM occurrence WHERE organisation_id = $1 AND machine_id = $3 AND service_task_id = $4`,
    [
      id,
      order.machineId,
      wanted.serviceTaskId,
      wanted.planTaskId,
      order.warehouseId,
      wanted.componentId,
      foundOn,
      addDays(foundOn, 14),
      addDays(foundOn, 30),
      JSON.stringify({ foundOn, finding: text, dueOn: foundOn }),
      changing.now,
    ],
  )
  return id
}
