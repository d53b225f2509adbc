import type { CareLine, HandOver, OrderLine } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import type { Units } from '@tapewarden/shared'
import { preparedRows } from '../support/prepared.js'
import type { Claimed } from './claim.js'

export interface Reader {
  name: string
  email: string | null
  language: string
  units: Units
  disabled: boolean
  refused: boolean
  reminderMail: boolean
  /** Is one of the two named people, a manager or an administrator, and wants it: hears of parts. */
  ordersParts: boolean
  /** This message is there to tell of parts, or tells again what an uncertain one may have told. */
  tellsParts: boolean
  partsMaybeSaid: boolean
}

/** By message. */
export async function readReaders(scope: PgScope, messages: readonly Claimed[]): Promise<Map<string, Reader>> {
  const rows = await preparedRows<Reader & { messageId: string } & Record<string, unknown>>(
    scope,
    'mail readers',
    `SELECT a.id AS "messageId", p.name, p.email, p.language, p.units, p.disabled_at IS NOT NULL AS disabled,
       COALESCE(lower(p.email) = lower(p.mail_refused_address), false) AS refused, p.reminder_mail AS "reminderMail",
       (p.role IN ('administrator', 'manager') OR p.id IN (w.first_person_id, w.second_person_id)) AND NOT 'parts' = ANY(p.unwanted_kinds) AS "ordersParts",
       EXISTS (SELECT 1 FROM part_told t WHERE t.organisation_id = $1 AND t.message_id = a.id) AS "tellsParts",
       EXISTS (SELECT 1 FROM part_told t JOIN message m ON m.organisation_id = $1 AND m.id = t.message_id WHERE t.organisation_id = $1 AND m.folded_into_id = a.id) AS "partsMaybeSaid"
     FROM unnest($2::uuid[], $3::uuid[], $4::uuid[]) AS a(id, person_id, warehouse_id)
     JOIN person p ON p.organisation_id = $1 AND p.id = a.person_id
     LEFT JOIN warehouse w ON w.organisation_id = $1 AND w.id = a.warehouse_id`,
    [scope.organisationId, messages.map(({ id }) => id), messages.map(({ personId }) => personId), messages.map((one) => one.warehouseId)],
  )
  return new Map(rows.map((row) => [row.messageId, row]))
}

function byMessage<Line>(rows: readonly (Line & { messageId: string })[]): Map<string, Line[]> {
  const found = new Map<string, Line[]>()
  for (const { messageId, ...line } of rows) {
    const lines = found.get(messageId)
    if (lines) lines.push(line as Line)
    else found.set(messageId, [line as Line])
  }
  return found
}

export type ReadCareLine = CareLine & { folded: boolean }

/** What each message holds and is still open, by message; lines of earlier uncertain messages that it tells again are marked. */
export async function readCare(scope: PgScope, messages: readonly Claimed[]): Promise<Map<string, ReadCareLine[]>> {
  const rows = await preparedRows<ReadCareLine & { messageId: string } & Record<string, unknown>>(
    scope,
    'mail care',
    `WITH RECURSIVE told AS (
       SELECT a.id AS asked, a.person_id, a.local_day, a.id, false AS folded FROM unnest($2::uuid[], $3::uuid[], $4::date[]) AS a(id, person_id, local_day)
       UNION ALL
       SELECT told.asked, told.person_id, told.local_day, m.id, true FROM message m JOIN told ON m.folded_into_id = told.id WHERE m.organisation_id = $1),
     said AS MATERIALIZED (
       SELECT told.asked, told.person_id AS reader_id, told.local_day, told.folded, r.id, r.stage, r.do_by, r.occurrence_id, r.person_id FROM told JOIN reminder r ON r.organisation_id = $1 AND r.message_id = told.id)
     SELECT r.asked AS "messageId", r.folded, r.stage, o.id AS "occurrenceId", o.calendar_sequence AS version, o.machine_id AS "machineId", k.label_code AS "labelCode",
       s.name AS "stationName", COALESCE(s.walking_order, 1000000) AS "walkingOrder", t.name AS "taskName", t.minutes, t.safety_check AS "safetyCheck",
       o.nominal_on AS "nominalOn", o.due_on AS "dueOn", o.late_from AS "lateFrom", o.hard_limit_on AS "hardLimitOn", r.do_by AS "doBy",
       f.early_on AS "earlyOn", f.late_on AS "lateOn",
       CASE WHEN r.person_id <> r.reader_id AND EXISTS (SELECT 1 FROM absence a WHERE a.organisation_id = $1 AND a.person_id = r.person_id AND r.local_day BETWEEN a.from_date AND a.to_date)
            THEN p.name END AS "forName"
     FROM said r
     JOIN occurrence o ON o.organisation_id = $1 AND o.id = r.occurrence_id AND o.state = 'open'
     JOIN machine k ON k.organisation_id = $1 AND k.id = o.machine_id
     JOIN plan_task t ON t.organisation_id = $1 AND t.id = o.plan_task_id
     JOIN person p ON p.organisation_id = $1 AND p.id = r.person_id
     LEFT JOIN placement l ON l.organisation_id = $1 AND l.machine_id = o.machine_id AND l.to_at IS NULL
     LEFT JOIN station s ON s.organisation_id = $1 AND s.id = l.station_id
     LEFT JOIN forecast f ON f.organisation_id = $1 AND f.machine_id = o.machine_id AND f.service_task_id = o.service_task_id AND f.state = 'dated'
     ORDER BY r.id`,
    [
      scope.organisationId,
      messages.map(({ id }) => id),
      messages.map(({ personId }) => personId),
      messages.map(({ localDay }) => localDay),
    ],
  )
  return byMessage<ReadCareLine>(rows)
}

export type ReadOrderLine = OrderLine & { folded: boolean }

/**
 * Work orders that each message tells of, or that an uncertain one before it may have told of, as far as they are still
 * issued to the same person; by message.
 */
export async function readOrders(scope: PgScope, messages: readonly Claimed[]): Promise<Map<string, ReadOrderLine[]>> {
  if (messages.length === 0) return new Map()
  const rows = await preparedRows<ReadOrderLine & { messageId: string } & Record<string, unknown>>(
    scope,
    'mail orders',
    `WITH RECURSIVE told AS (
       SELECT m.id AS asked, m.id, m.person_id, false AS folded FROM message m WHERE m.organisation_id = $1 AND m.id = ANY($2::uuid[])
       UNION ALL
       SELECT told.asked, m.id, m.person_id, true FROM message m JOIN told ON m.folded_into_id = told.id WHERE m.organisation_id = $1)
     SELECT told.asked AS "messageId", w.number, k.label_code AS "labelCode", s.name AS "stationName", w.planned_on AS "plannedOn", told.folded,
       ARRAY(SELECT t.name FROM work_order_task x JOIN plan_task t ON t.organisation_id = $1 AND t.id = x.plan_task_id
             WHERE x.organisation_id = $1 AND x.work_order_id = w.id ORDER BY t.position, t.name) AS tasks
     FROM told JOIN work_order w ON w.organisation_id = $1 AND w.told_message_id = told.id AND w.technician_id = told.person_id AND w.state = 'issued'
     JOIN machine k ON k.organisation_id = $1 AND k.id = w.machine_id
     LEFT JOIN placement l ON l.organisation_id = $1 AND l.machine_id = w.machine_id AND l.to_at IS NULL
     LEFT JOIN station s ON s.organisation_id = $1 AND s.id = l.station_id
     ORDER BY w.planned_on NULLS LAST, w.number`,
    [scope.organisationId, messages.map(({ id }) => id)],
  )
  return byMessage<ReadOrderLine>(rows)
}

/** Whose mail no longer arrives, and how many machines stand in the warehouse for which they are named. */
export async function readHandOver(scope: PgScope, personId: string, warehouseId: string): Promise<HandOver | null> {
  const rows = await scope.rows<HandOver & Record<string, unknown>>(
    `SELECT p.name, (SELECT count(*)::int FROM placement l WHERE l.organisation_id = $1 AND l.warehouse_id = $3 AND l.to_at IS NULL) AS machines
     FROM person p WHERE p.organisation_id = $1 AND p.id = $2`,
    [scope.organisationId, personId, warehouseId],
  )
  return rows[0] ?? null
}
