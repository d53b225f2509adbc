import { datesNow, planningMath } from '@tapewarden/persistence'
import type { SkipPreview } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { skip } from './decisions.js'

/** Skips it, has the planner compute what follows, and leaves it to the caller to take all of it back. */
export async function previewSkip(changing: Changing, occurrenceId: string): Promise<SkipPreview> {
  const orders = await changing.rows<{ id: string }>(
    `SELECT work_order_id AS id FROM work_order_task WHERE organisation_id = $1 AND occurrence_id = $2`,
    [occurrenceId],
  )
  const { machineId, warehouseId, serviceTaskId } = await skip(changing, occurrenceId, 'What would follow?')
  const { zone } = await changing.one<{ zone: string }>('warehouse', `SELECT zone FROM warehouse WHERE organisation_id = $1 AND id = $2`, [
    warehouseId,
  ])
  const dates = await datesNow(changing.scope, planningMath, {
    warehouseId,
    today: localDateOf(changing.now, zone),
    machineIds: [machineId],
  })
  const next = dates.find((date) => date.serviceTaskId === serviceTaskId)
  const workOrders = await changing.rows<SkipPreview['workOrders'][number] & Record<string, unknown>>(
    `SELECT o.number, o.state = 'cancelled' AS cancelled FROM work_order o WHERE o.organisation_id = $1 AND o.id = ANY($2::uuid[])
       AND NOT EXISTS (SELECT 1 FROM work_order_task x WHERE x.organisation_id = $1 AND x.work_order_id = o.id AND x.occurrence_id = $3) ORDER BY o.number`,
    [orders.map(({ id }) => id), occurrenceId],
  )
  return { nextDueOn: next?.dueOn ?? null, reason: next?.reason ?? null, workOrders }
}
