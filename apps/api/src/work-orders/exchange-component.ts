import { InvalidError, newId } from '@tapewarden/platform'
import type { ParsedWorkEntry } from '@tapewarden/shared'
import { USED_STRIPS } from '../machines/components.js'
import type { Changing } from '../use/work.js'
import type { TaskRow } from './order-rows.js'
import type { OrderFacts } from './readiness.js'

export async function componentInPlace(changing: Changing, machineId: string, componentTypeId: string | null): Promise<string | null> {
  if (componentTypeId === null) return null
  const row = await changing.maybeOne<{ id: string }>(
    `SELECT cp.component_id AS id FROM component_placement cp JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
     WHERE cp.organisation_id = $1 AND cp.machine_id = $2 AND cp.to_date IS NULL AND c.component_type_id = $3 ORDER BY cp.from_date DESC NULLS LAST LIMIT 1`,
    [machineId, componentTypeId],
  )
  return row?.id ?? null
}

/** The old one goes out with its reason and so becomes life data; a new one, or one from the books, goes in. */
export async function exchange(
  changing: Changing,
  facts: OrderFacts,
  task: TaskRow,
  entry: Extract<ParsedWorkEntry, { kind: 'task_done' }>,
  doneOn: string,
): Promise<void> {
  const { machineId } = facts.order
  const old = await componentInPlace(changing, machineId, task.componentTypeId)
  if (old !== null) {
    await changing.run(
      `UPDATE measurement SET component_id = $3 WHERE organisation_id = $1 AND work_order_id = $2 AND component_id IS NULL AND name NOT LIKE 'new_%'`,
      [facts.order.id, old],
    )
    await changing.run(
      `UPDATE component_placement SET to_date = GREATEST($4::date, from_date), removal_reason = $5 WHERE organisation_id = $1 AND machine_id = $2 AND component_id = $3 AND to_date IS NULL`,
      [machineId, old, doneOn, entry.removalReason ?? 'unknown'],
    )
  }
  const fitted = entry.fittedComponentId ?? newId()
  let usedBefore = 0
  if (entry.fittedComponentId === undefined)
    await changing.run(`INSERT INTO component (organisation_id, id, component_type_id, new_on) VALUES ($1, $2, $3, $4)`, [
      fitted,
      task.componentTypeId,
      doneOn,
    ])
  else {
    const free = await changing.maybeOne<{ id: string; used: number }>(
      `SELECT c.id, COALESCE((SELECT ${USED_STRIPS} FROM component_placement cp WHERE cp.organisation_id = $1 AND cp.component_id = c.id ORDER BY cp.to_date DESC LIMIT 1), 0) AS used
       FROM component c WHERE c.organisation_id = $1 AND c.id = $2 AND c.component_type_id = $3 AND NOT EXISTS (SELECT 1 FROM component_placement p WHERE p.organisation_id = $1 AND p.component_id = c.id AND p.to_date IS NULL)`,
      [fitted, task.componentTypeId],
    )
    if (!free) throw new InvalidError('UNKNOWN_COMPONENT', 'There is no such part out of a machine.', '/fittedComponentId')
    usedBefore = free.used
  }
  await changing.run(
    `INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date, used_strips_before) VALUES ($1, $2, $3, $4, $5, $6)`,
    [newId(), fitted, machineId, doneOn, usedBefore],
  )
}
