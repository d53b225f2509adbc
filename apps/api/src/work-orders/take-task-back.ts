import { takeBack } from '../completion/complete.js'
import type { Changing } from '../use/work.js'

/** What this order has written down of a task counts no longer; what it had settled is open again. */
export async function takeTaskBack(changing: Changing, workOrderId: string, taskId: string, reason: string): Promise<void> {
  const records = await changing.rows<{ id: string }>(
    `SELECT r.id FROM service_record r JOIN work_order_task t ON t.organisation_id = r.organisation_id AND t.occurrence_id = r.occurrence_id
     WHERE r.organisation_id = $1 AND r.work_order_id = $2 AND t.id = $3 AND r.settles`,
    [workOrderId, taskId],
  )
  for (const record of records) await takeBack(changing, record.id, reason)
}
