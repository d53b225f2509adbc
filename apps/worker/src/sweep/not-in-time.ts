import { nextWorkingInstant } from '@tapewarden/messaging'
import { newId } from '@tapewarden/platform'
import type { PgScope } from '@tapewarden/persistence/sql'
import { type ComposingWarehouse, HOURS_COLUMNS } from '../composing/rows.js'

export interface ExpiredMessage {
  id: string
  personId: string
  warehouseId: string | null
  localDay: string
  reason: string
  classKey: string
}

type NoteWarehouse = ComposingWarehouse & Record<string, unknown> & { name: string; readerName: string; toId: string | null }

/** The other person named for the warehouse, else a manager, else an administrator; never the one whose mail failed. */
const WAREHOUSE = `
  SELECT ${HOURS_COLUMNS}, w.name, r.name AS "readerName", (
    SELECT p.id FROM person p WHERE p.organisation_id = $1 AND p.id <> $3 AND p.disabled_at IS NULL AND p.email IS NOT NULL
      AND lower(p.email) IS DISTINCT FROM lower(p.mail_refused_address)
      AND (p.id IN (w.first_person_id, w.second_person_id) OR p.role IN ('manager', 'administrator'))
    ORDER BY p.id IN (w.first_person_id, w.second_person_id) DESC, p.role = 'manager' DESC, p.id LIMIT 1) AS "toId"
  FROM warehouse w JOIN person r ON r.organisation_id = $1 AND r.id = $3 WHERE w.organisation_id = $1 AND w.id = $2`

/** Says to somebody else, in working hours and once, that a mail was given up. A note that fails itself makes no further one. */
export async function noteNotInTime(scope: PgScope, message: ExpiredMessage, now: Date): Promise<void> {
  if (message.warehouseId === null || /^(not_in_time|test) /.test(message.classKey)) return
  const [warehouse] = await scope.rows<NoteWarehouse>(WAREHOUSE, [scope.organisationId, message.warehouseId, message.personId])
  const sendAt = warehouse && nextWorkingInstant(warehouse, now)
  if (!warehouse?.toId || !sendAt) return
  const facts = {
    kind: 'not_in_time',
    warehouse: warehouse.name,
    name: warehouse.readerName,
    day: message.localDay,
    reason: message.reason,
  }
  await scope.run(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     VALUES ($1, $2, $3, $4, $5, 'urgent', $6, 'pending', $7, $7::timestamptz + interval '48 hours', $8, $9) ON CONFLICT DO NOTHING`,
    [
      scope.organisationId,
      newId(),
      warehouse.toId,
      message.warehouseId,
      message.localDay,
      `not_in_time ${message.id}`,
      sendAt,
      JSON.stringify({ v: 1, kind: 'not_in_time', facts }),
      now,
    ],
  )
}
