import type { Message, Reminder, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'

type MessageRow = Omit<Message, 'person' | 'warehouse'> &
  Record<string, unknown> & { personId: string; personName: string; warehouseId: string | null; warehouseName: string | null }

/** Newest day first; what a mail said is not shown here, only its subject and what became of it. */
export async function listMessages(
  reading: Reading,
  query: RouteQuery<Routes['listMessages']>,
): Promise<RouteResult<Routes['listMessages']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  const rows = await reading.rows<MessageRow>(
    `SELECT m.id, p.id AS "personId", p.name AS "personName", w.id AS "warehouseId", w.name AS "warehouseName", m.local_day AS "localDay", m.class, m.state, m.subject,
       m.send_after AS "sendAfter", m.sent_at AS "sentAt", m.attempts, m.last_error AS "lastError",
       (SELECT count(*)::int FROM reminder r WHERE r.organisation_id = m.organisation_id AND r.message_id = m.id) AS "reminderCount"
     FROM message m JOIN person p ON p.organisation_id = m.organisation_id AND p.id = m.person_id
     LEFT JOIN warehouse w ON w.organisation_id = m.organisation_id AND w.id = m.warehouse_id
     WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR m.warehouse_id = ANY($2)) AND ($3::uuid IS NULL OR m.warehouse_id = $3)
       AND ($4::uuid IS NULL OR m.person_id = $4) AND ($5::text[] IS NULL OR m.state = ANY($5))
       AND ($6::date IS NULL OR (m.local_day, m.id) < ($6, $7::uuid))
     ORDER BY m.local_day DESC, m.id DESC LIMIT $8`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.personId ?? null,
      query.state ?? null,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
    ],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.localDay, row.id],
    ({ personId, personName, warehouseId, warehouseName, ...row }) => ({
      ...row,
      person: { id: personId, name: personName },
      warehouse: warehouseId === null ? null : { id: warehouseId, name: warehouseName ?? '' },
    }),
  )
}

type ReminderRow = Omit<Reminder, 'machine' | 'person' | 'message'> &
  Record<string, unknown> & {
    machineId: string
    labelCode: string
    personId: string
    personName: string
    messageId: string | null
    messageState: NonNullable<Reminder['message']>['state'] | null
    sentAt: string | null
  }

export async function listReminders(
  reading: Reading,
  query: RouteQuery<Routes['listReminders']>,
): Promise<RouteResult<Routes['listReminders']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  const rows = await reading.rows<ReminderRow>(
    `WITH page AS (SELECT r.* FROM reminder r
       WHERE r.organisation_id = $1 AND ($2::uuid[] IS NULL OR r.warehouse_id = ANY($2)) AND ($3::uuid IS NULL OR r.warehouse_id = $3)
         AND ($4::uuid IS NULL OR r.occurrence_id IN (SELECT o.id FROM occurrence o WHERE o.organisation_id = $1 AND o.machine_id = $4))
         AND ($5::uuid IS NULL OR r.occurrence_id = $5) AND ($6::uuid IS NULL OR r.person_id = $6)
         AND ($7::date IS NULL OR (r.say_on, r.id) < ($7, $8::uuid))
       ORDER BY r.say_on DESC, r.id DESC LIMIT $9)
     SELECT r.id, r.occurrence_id AS "occurrenceId", m.id AS "machineId", m.label_code AS "labelCode", pt.name AS "taskName", r.stage, p.id AS "personId", p.name AS "personName",
       r.warehouse_id AS "warehouseId", r.class, r.say_on AS "sayOn", x.id AS "messageId", x.state AS "messageState", x.sent_at AS "sentAt", r.dropped_reason AS "droppedReason"
     FROM page r JOIN occurrence o ON o.organisation_id = r.organisation_id AND o.id = r.occurrence_id
     JOIN machine m ON m.organisation_id = o.organisation_id AND m.id = o.machine_id
     JOIN plan_task pt ON pt.organisation_id = o.organisation_id AND pt.id = o.plan_task_id
     JOIN person p ON p.organisation_id = r.organisation_id AND p.id = r.person_id
     LEFT JOIN message x ON x.organisation_id = r.organisation_id AND x.id = r.message_id
     ORDER BY r.say_on DESC, r.id DESC`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.machineId ?? null,
      query.occurrenceId ?? null,
      query.personId ?? null,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
    ],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.sayOn, row.id],
    ({ machineId, labelCode, personId, personName, messageId, messageState, sentAt, ...row }) => ({
      ...row,
      machine: { id: machineId, labelCode },
      person: { id: personId, name: personName },
      message: messageId === null || messageState === null ? null : { id: messageId, state: messageState, sentAt },
    }),
  )
}
