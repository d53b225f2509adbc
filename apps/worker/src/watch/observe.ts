import { localMoment } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import { groupReminders } from '../composing/group.js'
import {
  type ComposingWarehouse,
  HOURS_COLUMNS,
  readDigests,
  readHandedOver,
  readOffice,
  readUnsaidWithoutLock,
  WAIT_FOR_PLAN_MINUTES,
} from '../composing/rows.js'

/** What should have moved in one organisation and has not. Ages in seconds, 0 where nothing waits. */
export interface Observed {
  /** Messages that are due and not in anybody's hands. */
  dueMessages: number
  oldestDueSeconds: number
  /** Reminders that could be in a message by now: by the hours, by their people's wishes. */
  unsaidReminders: number
  oldestUnsaidSeconds: number
  /** Since something was last handed over; null where nothing was within a day. */
  sinceHandedOverSeconds: number | null
  sinceComposedSeconds: number | null
}

const MESSAGES = `
  SELECT count(*) FILTER (WHERE waits)::int AS "dueMessages",
    COALESCE(EXTRACT(epoch FROM $2::timestamptz - min(send_after) FILTER (WHERE waits)), 0)::float8 AS "oldestDueSeconds",
    EXTRACT(epoch FROM $2::timestamptz - max(GREATEST(handed_over_at, sent_at)))::float8 AS "sinceHandedOverSeconds",
    EXTRACT(epoch FROM $2::timestamptz - max(created_at))::float8 AS "sinceComposedSeconds"
  FROM (SELECT *, send_after <= $2 AND expires_at > $2 AND (state = 'pending' OR (state = 'claimed' AND lease_until < clock_timestamp())) AS waits FROM message
        WHERE organisation_id = $1 AND class_key <> 'queue_stuck' AND class_key NOT LIKE 'workers_silent %' AND (state = 'pending' OR state = 'claimed' OR local_day >= $2::date - 1)) m`

type MessageFigures = Pick<Observed, 'dueMessages' | 'oldestDueSeconds' | 'sinceHandedOverSeconds' | 'sinceComposedSeconds'>
type WarehouseRow = ComposingWarehouse & Record<string, unknown> & { id: string }

/** How long each reminder of a warehouse could have been in a message; none outside working hours and while today's dates are awaited. */
async function unsaidIn(scope: PgScope, warehouse: WarehouseRow, now: Date): Promise<number[]> {
  const { today, minutesOpen } = localMoment(warehouse, now)
  if (minutesOpen === null || ((warehouse.plannedOn ?? '') < today && minutesOpen < WAIT_FOR_PLAN_MINUTES)) return []
  const unsaid = await readUnsaidWithoutLock(scope, warehouse.id, today)
  if (unsaid.length === 0) return []
  const { messages } = groupReminders(unsaid, [], await readOffice(scope, warehouse, today), {
    hours: warehouse,
    now,
    today,
    openSince: new Date(now.getTime() - minutesOpen * 60_000),
    digests: await readDigests(scope, warehouse.id, today),
    handedOver: await readHandedOver(scope, warehouse.id),
  })
  const madeAt = new Map(unsaid.map(({ id, createdAt }) => [id, createdAt.getTime()]))
  return messages.flatMap(({ since, reminderIds }) =>
    reminderIds.map((id) => (now.getTime() - Math.max(since.getTime(), madeAt.get(id) ?? 0)) / 1000),
  )
}

export async function observe(scope: PgScope, now: Date): Promise<Observed> {
  const [figures] = await scope.rows<MessageFigures & Record<string, unknown>>(MESSAGES, [scope.organisationId, now])
  const warehouses = await scope.rows<WarehouseRow>(
    `SELECT w.id, ${HOURS_COLUMNS} FROM warehouse w WHERE w.organisation_id = $1 AND EXISTS (SELECT 1 FROM reminder r
       WHERE r.organisation_id = $1 AND r.warehouse_id = w.id AND r.message_id IS NULL AND r.dropped_reason IS NULL)`,
    [scope.organisationId],
  )
  const ages: number[] = []
  for (const warehouse of warehouses) ages.push(...(await unsaidIn(scope, warehouse, now)))
  return {
    ...(figures as MessageFigures),
    unsaidReminders: ages.length,
    oldestUnsaidSeconds: ages.reduce((oldest, age) => Math.max(oldest, age), 0),
  }
}
