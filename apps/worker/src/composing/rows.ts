import { isMailAddress, type WarehouseHours } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import type { MessageToBe, UncertainMessage, UnsaidReminder, UntoldOrder } from './group.js'
import type { Person, WarehouseOffice } from './recipients.js'

export interface ComposingWarehouse extends WarehouseHours {
  /** Local day on which it was last worked out which parts to order. */
  partsLookedOn: string | null
  plannedOn: string | null
  firstPersonId: string | null
  secondPersonId: string | null
}

/** Today's dates come first, but a pass that fails does not keep the rest from being said. */
export const WAIT_FOR_PLAN_MINUTES = 120

/** One composing a warehouse at a time, until the transaction ends. */
export async function lockComposing(scope: PgScope, warehouseId: string): Promise<void> {
  await scope.run(`SELECT pg_advisory_xact_lock(hashtextextended('compose ' || $1, 0))`, [warehouseId])
}

export const HOURS_COLUMNS = `w.zone, w.planned_on AS "plannedOn", w.parts_looked_on::text AS "partsLookedOn", w.first_person_id AS "firstPersonId", w.second_person_id AS "secondPersonId",
  (SELECT coalesce(jsonb_agg(jsonb_build_object('weekday', s.weekday, 'starts', s.starts, 'ends', s.ends)), '[]')
   FROM shift s WHERE s.organisation_id = w.organisation_id AND s.warehouse_id = w.id) AS shifts,
  (SELECT coalesce(jsonb_agg(jsonb_build_object('from', c.from_date, 'to', c.to_date)), '[]')
   FROM closure c WHERE c.organisation_id = w.organisation_id AND c.warehouse_id = w.id) AS closures`

export async function readWarehouse(scope: PgScope, warehouseId: string): Promise<ComposingWarehouse | null> {
  const rows = await scope.rows<ComposingWarehouse & Record<string, unknown>>(
    `SELECT ${HOURS_COLUMNS} FROM warehouse w WHERE w.organisation_id = $1 AND w.id = $2`,
    [scope.organisationId, warehouseId],
  )
  return rows[0] ?? null
}

export async function readOffice(scope: PgScope, warehouse: ComposingWarehouse, today: string): Promise<WarehouseOffice> {
  const people = await scope.rows<Person & Record<string, unknown>>(
    `SELECT p.id, p.name, p.email, p.role, p.disabled_at IS NOT NULL AS disabled, p.reminder_mail AS "reminderMail",
       COALESCE(lower(p.email) = lower(p.mail_refused_address), false) AS refused, p.unwanted_kinds AS unwanted, p.lead_days AS "leadDays",
       jsonb_build_object('digestWeekday', p.digest_weekday, 'digestTime', p.digest_time, 'quietFrom', p.quiet_from, 'quietTo', p.quiet_to) AS wishes,
       a.person_id IS NOT NULL AS away, a.cover_person_id AS "coverId"
     FROM person p LEFT JOIN LATERAL (
       SELECT person_id, cover_person_id FROM absence
       WHERE organisation_id = $1 AND person_id = p.id AND $2::date BETWEEN from_date AND to_date
       ORDER BY cover_person_id NULLS LAST, from_date LIMIT 1) a ON true
     WHERE p.organisation_id = $1 ORDER BY p.id`,
    [scope.organisationId, today],
  )
  const { firstPersonId, secondPersonId } = warehouse
  return { firstPersonId, secondPersonId, people: new Map(people.map((person) => [person.id, person])), reachable: isMailAddress }
}

/** What is no longer open is not said. */
export async function dropStale(scope: PgScope, warehouseId: string): Promise<number> {
  return scope.run(
    `UPDATE reminder r SET dropped_reason = 'no longer open' FROM occurrence o
     WHERE r.organisation_id = $1 AND r.warehouse_id = $2 AND r.message_id IS NULL AND r.dropped_reason IS NULL
       AND o.organisation_id = $1 AND o.id = r.occurrence_id AND o.state <> 'open'`,
    [scope.organisationId, warehouseId],
  )
}

const UNSAID = `
  SELECT r.id, r.person_id AS "personId", r.stage, r.class, r.say_on AS "sayOn", r.created_at AS "createdAt", LEAST(o.due_on, f.early_on) AS "earliestOn"
  FROM reminder r JOIN occurrence o ON o.organisation_id = $1 AND o.id = r.occurrence_id
  LEFT JOIN forecast f ON r.stage = 'coming_due' AND f.organisation_id = $1 AND f.machine_id = o.machine_id AND f.service_task_id = o.service_task_id AND f.state = 'dated'
  WHERE r.organisation_id = $1 AND r.warehouse_id = $2 AND r.message_id IS NULL AND r.dropped_reason IS NULL AND r.say_on <= $3`

/**
 * Not locked row by row: only composing gives reminders a message, one composing a warehouse goes at a time, and what a
 * pass drops meanwhile fillMessage leaves out.
 */
export async function readUnsaid(scope: PgScope, warehouseId: string, today: string): Promise<UnsaidReminder[]> {
  return scope.rows<UnsaidReminder & Record<string, unknown>>(`${UNSAID} ORDER BY r.id`, [scope.organisationId, warehouseId, today])
}

/** For looking on: whoever composes is not kept waiting. */
export async function readUnsaidWithoutLock(
  scope: PgScope,
  warehouseId: string,
  today: string,
): Promise<(UnsaidReminder & { createdAt: Date })[]> {
  return scope.rows<UnsaidReminder & { createdAt: Date } & Record<string, unknown>>(`${UNSAID} AND o.state = 'open'`, [
    scope.organisationId,
    warehouseId,
    today,
  ])
}

/** By person: the last day with a digest that went or is on its way, and whether more can be put into it. */
export async function readDigests(
  scope: PgScope,
  warehouseId: string,
  today: string,
): Promise<Map<string, { day: string; open: boolean }>> {
  const rows = await scope.rows<{ personId: string; day: string; open: boolean }>(
    `SELECT DISTINCT ON (person_id) person_id AS "personId", local_day AS day, state = 'pending' AND attempts = 0 AS open
     FROM message WHERE organisation_id = $1 AND warehouse_id = $2 AND class = 'digest' AND state NOT IN ('failed', 'expired') AND local_day > $3::date - 60
     ORDER BY person_id, local_day DESC`,
    [scope.organisationId, warehouseId, today],
  )
  return new Map(rows.map(({ personId, day, open }) => [personId, { day, open }]))
}

/** What its person does without is said to nobody. */
export async function dropUnwanted(scope: PgScope, reminderIds: readonly string[]): Promise<void> {
  if (reminderIds.length === 0) return
  await scope.run(
    `UPDATE reminder SET dropped_reason = 'not wanted' WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND message_id IS NULL`,
    [scope.organisationId, reminderIds],
  )
}

/** Uncertain messages of earlier days of which something is still open. */
export async function readUncertain(scope: PgScope, warehouseId: string, today: string): Promise<UncertainMessage[]> {
  return scope.rows<UncertainMessage & Record<string, unknown>>(
    `SELECT m.id, m.person_id AS "personId" FROM message m
     WHERE m.organisation_id = $1 AND m.warehouse_id = $2 AND m.state = 'uncertain' AND m.folded_into_id IS NULL AND m.local_day < $3
       AND (EXISTS (SELECT 1 FROM reminder r JOIN occurrence o ON o.organisation_id = $1 AND o.id = r.occurrence_id
                    WHERE r.organisation_id = $1 AND r.message_id = m.id AND o.state = 'open')
         OR EXISTS (SELECT 1 FROM work_order x WHERE x.organisation_id = $1 AND x.told_message_id = m.id AND x.technician_id = m.person_id AND x.state = 'issued')
         OR EXISTS (SELECT 1 FROM part_told x WHERE x.organisation_id = $1 AND x.message_id = m.id))
     ORDER BY m.id FOR UPDATE OF m`,
    [scope.organisationId, warehouseId, today],
  )
}

export interface NewMessage {
  id: string
  warehouseId: string
  today: string
  now: Date
}

/** A digest not sent for two days would say what is no longer so. */
const EXPIRES_HOURS = 48

/**
 * The one message of a person, warehouse, day and class: a new row, or today's row while nobody has claimed it.
 * @returns null where today's message has been claimed or sent: what is left waits for the next working day
 */
export async function placeMessage(
  scope: PgScope,
  message: MessageToBe,
  { id, warehouseId, today, now }: NewMessage,
): Promise<{ id: string; isNew: boolean } | null> {
  const classKey = message.class === 'digest' ? '' : `${message.kind} ${message.insteadOfId ?? message.reminderIds[0]}`
  const made = await scope.rows<{ id: string }>(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7, 'pending', $8, $8::timestamptz + make_interval(hours => ${EXPIRES_HOURS}), $9, $8)
     ON CONFLICT DO NOTHING RETURNING id`,
    [
      scope.organisationId,
      id,
      message.personId,
      warehouseId,
      today,
      message.class,
      classKey,
      now,
      JSON.stringify({ v: 1, kind: message.kind, insteadOfId: message.insteadOfId }),
    ],
  )
  if (made[0]) return { id: made[0].id, isNew: true }
  const there = await scope.rows<{ id: string }>(
    `SELECT id FROM message WHERE organisation_id = $1 AND person_id = $2 AND warehouse_id = $3 AND local_day = $4 AND class = $5 AND class_key = $6
       AND state = 'pending' AND attempts = 0 FOR UPDATE`,
    [scope.organisationId, message.personId, warehouseId, today, message.class, classKey],
  )
  return there[0] ? { id: there[0].id, isNew: false } : null
}

/** Issued work orders of which their technician has not been told. */
export async function readUntoldOrders(scope: PgScope, warehouseId: string): Promise<UntoldOrder[]> {
  return scope.rows<UntoldOrder & Record<string, unknown>>(
    `SELECT id, technician_id AS "personId" FROM work_order
     WHERE organisation_id = $1 AND warehouse_id = $2 AND state = 'issued' AND technician_id IS NOT NULL AND told_message_id IS NULL ORDER BY id FOR UPDATE`,
    [scope.organisationId, warehouseId],
  )
}

/** @returns how many reminders it now holds more */
export async function fillMessage(
  scope: PgScope,
  messageId: string,
  { reminderIds, foldedIds, orderIds, partIds }: MessageToBe,
): Promise<number> {
  if (partIds.length > 0)
    await scope.run(
      `UPDATE part_told t SET message_id = $3 FROM message m
       WHERE t.organisation_id = $1 AND m.organisation_id = $1 AND m.id = $3 AND t.warehouse_id = m.warehouse_id AND t.part_id = ANY($2::uuid[]) AND t.message_id IS NULL`,
      [scope.organisationId, partIds, messageId],
    )
  if (orderIds.length > 0)
    await scope.run(
      'UPDATE work_order SET told_message_id = $3 WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND told_message_id IS NULL',
      [scope.organisationId, orderIds, messageId],
    )

  const filled = await scope.run(
    'UPDATE reminder SET message_id = $3 WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND message_id IS NULL AND dropped_reason IS NULL',
    [scope.organisationId, reminderIds, messageId],
  )
  if (foldedIds.length > 0)
    await scope.run(
      'UPDATE message SET folded_into_id = $3 WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND folded_into_id IS NULL',
      [scope.organisationId, foldedIds, messageId],
    )
  return filled
}

/** 'recipient person': who has been told of whose mail that no longer arrives, or is about to be. */
export async function readHandedOver(scope: PgScope, warehouseId: string): Promise<Set<string>> {
  const rows = await scope.rows<{ pair: string }>(
    `SELECT person_id || ' ' || split_part(class_key, ' ', 2) AS pair FROM message
     WHERE organisation_id = $1 AND warehouse_id = $2 AND class = 'urgent' AND class_key LIKE 'hand_over %'
       AND state IN ('pending', 'claimed', 'handing_over', 'sent', 'uncertain')`,
    [scope.organisationId, warehouseId],
  )
  return new Set(rows.map(({ pair }) => pair))
}
