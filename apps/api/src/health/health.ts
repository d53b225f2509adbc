import type { RouteResult, Routes } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'

interface WarehouseRow extends Record<string, unknown> {
  id: string
  name: string
  plannedOn: string | null
  changesNotPlanned: number
}

/** Says what should have moved and has not: a process that runs proves nothing. */
export async function health(reading: Reading): Promise<RouteResult<Routes['health']>> {
  const warehouses = await reading.rows<WarehouseRow>(
    `SELECT id, name, planned_on AS "plannedOn", GREATEST(evidence_version - planned_version, 0)::int AS "changesNotPlanned"
     FROM warehouse WHERE organisation_id = $1 ORDER BY name, id`,
  )
  const figures = await reading.one<Record<string, number | null> & { oldestDay: string | null }>(
    'figure',
    `SELECT
       (SELECT EXTRACT(epoch FROM $2::timestamptz - min(send_after))::float8 FROM message
         WHERE organisation_id = $1 AND state IN ('pending', 'claimed', 'handing_over') AND send_after <= $2) AS "pendingSeconds",
       (SELECT count(*)::int FROM message WHERE organisation_id = $1 AND state = 'uncertain') AS uncertain,
       (SELECT count(*)::int FROM message WHERE organisation_id = $1 AND state = 'failed') AS failed,
       (SELECT count(*)::int FROM forecast WHERE organisation_id = $1 AND state = 'cannot_be_computed') AS "notComputed",
       (SELECT min(say_on)::text FROM reminder WHERE organisation_id = $1 AND message_id IS NULL AND dropped_reason IS NULL) AS "oldestDay"`,
    [reading.now],
  )
  return {
    now: reading.now.toISOString(),
    warehouses,
    oldestPendingMessageSeconds: figures.pendingSeconds ?? null,
    oldestUnsaidReminderDay: figures.oldestDay,
    uncertainMessages: figures.uncertain ?? 0,
    failedMessages: figures.failed ?? 0,
    forecastsNotComputed: figures.notComputed ?? 0,
  }
}
