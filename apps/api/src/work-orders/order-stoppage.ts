import { newId } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'
import type { OrderDetailRow } from './order-rows.js'

/** Opening a running machine stops it: a planned stoppage, unless it stands still already. */
export async function beginWorkOnStoppage(changing: Changing, order: OrderDetailRow, at: Date): Promise<void> {
  const open = await changing.rows<{ id: string }>(
    `UPDATE stoppage SET work_begun_at = COALESCE(work_begun_at, GREATEST($3, failed_at)), work_order_id = COALESCE(work_order_id, $4), version = version + 1
     WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL RETURNING id`,
    [order.machineId, at, order.id],
  )
  if (open.length > 0) return
  await changing.run(
    `INSERT INTO stoppage (organisation_id, id, machine_id, warehouse_id, station_id, planned, failed_at, noticed_at, reported_at, work_begun_at, cause, noticed_how,
       reported_by, work_order_id, created_at)
     VALUES ($1, $2, $3, $4, $5, true, $6, $6, $6, $6, 'planned_work', 'technician', $7, $8, $9)`,
    [newId(), order.machineId, order.warehouseId, order.stationId, at, changing.who.name, order.id, changing.now],
  )
}

export async function noteWait(changing: Changing, workOrderId: string, reason: string, at: Date): Promise<void> {
  await changing.run(
    `UPDATE stoppage SET waits = waits || jsonb_build_array(jsonb_build_object('reason', $3::text, 'fromAt', $4::text, 'toAt', NULL)), version = version + 1
     WHERE organisation_id = $1 AND work_order_id = $2 AND back_in_use_at IS NULL`,
    [workOrderId, reason, at.toISOString()],
  )
}

export async function endWaits(changing: Changing, workOrderId: string, at: Date): Promise<void> {
  await changing.run(
    `UPDATE stoppage SET version = version + 1, waits = (SELECT jsonb_agg(CASE WHEN w ->> 'toAt' IS NULL THEN w || jsonb_build_object('toAt', $3::text) ELSE w END)
       FROM jsonb_array_elements(waits) w)
     WHERE organisation_id = $1 AND work_order_id = $2 AND back_in_use_at IS NULL AND waits <> '[]'`,
    [workOrderId, at.toISOString()],
  )
}

/** Finished and handed back: repaired, checked, in use again. Tagged out: it stays stopped. */
export async function endStoppages(changing: Changing, order: OrderDetailRow, at: Date, checkedAt: string | null): Promise<void> {
  await endWaits(changing, order.id, at)
  await changing.run(
    `UPDATE stoppage SET repaired_at = COALESCE(repaired_at, LEAST(COALESCE($4::timestamptz, $3), $3)), checked_at = COALESCE(checked_at, $4), back_in_use_at = GREATEST($3, failed_at),
       version = version + 1
     WHERE organisation_id = $1 AND machine_id = $2 AND back_in_use_at IS NULL AND failed_at <= $3`,
    [order.machineId, at, checkedAt],
  )
}

/** The order ended without work to the end: what it had stopped on purpose runs again. */
export async function endPlannedStoppage(changing: Changing, workOrderId: string, at: Date): Promise<void> {
  await changing.run(
    `UPDATE stoppage SET back_in_use_at = GREATEST($3, failed_at), version = version + 1
     WHERE organisation_id = $1 AND work_order_id = $2 AND planned AND back_in_use_at IS NULL`,
    [workOrderId, at],
  )
}
