/** What the sweep finds for other programs: care whose day has come, and tellings that wait or were left behind. */
import { localMoment, type WarehouseHours } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import type { JobToAdd } from '@tapewarden/queues'

/** Tellings that arrived, or were given up, are kept so long to be seen and sent again. */
const KEPT = '30 days'

interface Place extends WarehouseHours, Record<string, unknown> {
  id: string
}

const PLACES = `SELECT w.id, w.zone, '[]'::jsonb AS shifts, '[]'::jsonb AS closures FROM warehouse w
  WHERE w.organisation_id = $1 AND EXISTS (SELECT 1 FROM webhook x WHERE x.organisation_id = $1 AND x.off_at IS NULL AND 'due' = ANY (x.kinds)
    AND (x.warehouse_ids IS NULL OR w.id = ANY (x.warehouse_ids)))`

/** Once an occurrence and due day: what was moved to a later day is told again when that has come. */
const TELL_DUE = `
  INSERT INTO webhook_delivery (organisation_id, id, webhook_id, kind, event_key, body, send_after, created_at)
  SELECT $1, gen_random_uuid(), w.id, 'due', k.key, jsonb_build_object('occurrenceId', o.id, 'machineId', o.machine_id, 'labelCode', m.label_code,
      'warehouseId', o.warehouse_id, 'taskKey', s.key, 'taskName', t.name, 'dueOn', o.due_on, 'lateFrom', o.late_from, 'hardLimitOn', o.hard_limit_on), $4, $4
  FROM webhook w
  JOIN occurrence o ON o.organisation_id = $1 AND o.warehouse_id = $2 AND o.state = 'open' AND o.due_on <= $3::date AND o.due_on >= w.due_since
  JOIN machine m ON m.organisation_id = $1 AND m.id = o.machine_id
  JOIN plan_task t ON t.organisation_id = $1 AND t.id = o.plan_task_id
  JOIN service_task s ON s.organisation_id = $1 AND s.id = o.service_task_id
  CROSS JOIN LATERAL (SELECT format('due %s %s', o.id, o.due_on) AS key) k
  WHERE w.organisation_id = $1 AND w.off_at IS NULL AND 'due' = ANY (w.kinds) AND (w.warehouse_ids IS NULL OR $2 = ANY (w.warehouse_ids))
    AND NOT EXISTS (SELECT 1 FROM webhook_delivery d WHERE d.organisation_id = $1 AND d.webhook_id = w.id AND d.event_key = k.key)
  ON CONFLICT (organisation_id, webhook_id, event_key) DO NOTHING`

const WAITING = `
  SELECT d.id FROM webhook_delivery d JOIN webhook w ON w.organisation_id = $1 AND w.id = d.webhook_id AND w.off_at IS NULL
  WHERE d.organisation_id = $1 AND ((d.state = 'pending' AND d.send_after <= $2) OR (d.state = 'claimed' AND d.lease_until < clock_timestamp()))
  ORDER BY d.send_after LIMIT 1000`

export async function findWebhooks(scope: PgScope, now: Date, slot: string): Promise<JobToAdd[]> {
  const { organisationId } = scope
  for (const place of await scope.rows<Place>(PLACES, [organisationId]))
    await scope.run(TELL_DUE, [organisationId, place.id, localMoment(place, now).today, now])
  await scope.run(
    `DELETE FROM webhook_delivery WHERE organisation_id = $1 AND ended_at < $2::timestamptz - interval '${KEPT}'
       AND NOT (kind = 'due' AND EXISTS (SELECT 1 FROM occurrence o WHERE o.organisation_id = $1 AND o.id = (body ->> 'occurrenceId')::uuid AND o.state = 'open'))`,
    [organisationId, now],
  )
  const waiting = await scope.rows<{ id: string }>(WAITING, [organisationId, now])
  return waiting.map(({ id }) => ({
    name: 'send_webhook',
    input: { organisationId, deliveryId: id },
    options: { key: `${id}-${slot}` },
  }))
}
