/** Three years of a fleet's past beside what support-fleet.ts makes: care, orders, what was typed, stoppages, findings, mails. */
import type { Client } from 'pg'
import type { Fleet } from './support-fleet.js'

const ORDERS_A_MACHINE = 9
const OTHER_CARE_A_MACHINE = 18
const STOPPAGES_A_MACHINE = 3
/** Before the days that the pass has written; a reader that walked through them would show. */
const LEDGER_DAYS = 150

/** Made by the server, the same each time but for ids. */
export async function addHistory(owner: Client, { organisationId, warehouseId, today }: Fleet): Promise<void> {
  const say = (text: string, ...more: unknown[]): Promise<unknown> => owner.query(text, [organisationId, ...more])
  await owner.query(`SET session_replication_role = replica`)
  await say(`UPDATE placement SET from_at = '2022-01-03T00:00:00Z' WHERE organisation_id = $1`)
  await say(`INSERT INTO machine_status_period (organisation_id, id, machine_id, status, from_at)
    SELECT $1, uuidv7(), id, 'in_service', '2022-01-03T00:00:00Z' FROM machine WHERE organisation_id = $1`)
  // No parameters in a definition of a table: the two values are ours.
  await owner.query(
    `CREATE TEMPORARY TABLE past AS SELECT m.id AS machine_id, i, DATE '${today}' - (i * 38 + hashtext(m.id::text) % 15) AS done_on,
       uuidv7() AS occurrence_id, uuidv7() AS record_id, CASE WHEN i <= ${ORDERS_A_MACHINE} THEN uuidv7() END AS order_id, t.service_task_id, t.id AS plan_task_id
     FROM machine m CROSS JOIN generate_series(1, ${ORDERS_A_MACHINE + OTHER_CARE_A_MACHINE}) i
     JOIN plan_task t ON t.organisation_id = m.organisation_id AND t.position = i % 6 WHERE m.organisation_id = '${organisationId}'`,
  )
  await say(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, sequence, kind, state, opened_on, nominal_on, window_from, window_to, due_on, governing_trigger, ended_on, done_on, created_at)
     SELECT $1, occurrence_id, machine_id, service_task_id, plan_task_id, $2, 1000 - i, 'regular', 'done', done_on - 30, done_on, done_on - 3, done_on + 3, done_on, 'calendar', done_on, done_on, done_on FROM past`,
    warehouseId,
  )
  await say(
    `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, occurrence_id, work_order_id, done_on, done_at, person_name, source, anchor_on, created_at)
     SELECT $1, record_id, machine_id, service_task_id, occurrence_id, order_id, done_on, done_on, 'Second', CASE WHEN order_id IS NULL THEN 'round' ELSE 'work_order' END, done_on, done_on FROM past`,
  )
  const second = `(SELECT id FROM person WHERE organisation_id = $1 AND name = 'Second')`
  await say(
    `INSERT INTO work_order (organisation_id, id, number, machine_id, warehouse_id, technician_id, state, started_at, finished_at, minutes_worked, last_entry_at, created_at)
     SELECT $1, order_id, 100000 + row_number() OVER (), machine_id, $2, ${second}, 'looked_over', done_on + time '08:00', done_on + time '08:20', 18, done_on + time '08:20', done_on FROM past WHERE order_id IS NOT NULL`,
    warehouseId,
  )
  await say(
    `INSERT INTO work_order_task (organisation_id, id, work_order_id, occurrence_id, plan_task_id, position, outcome, done_at)
     SELECT $1, uuidv7(), order_id, occurrence_id, plan_task_id, 1, 'done', done_on FROM past WHERE order_id IS NOT NULL`,
  )
  await say(
    `INSERT INTO work_entry (organisation_id, id, work_order_id, machine_id, person_id, kind, content, made_at, received_at)
     SELECT $1, uuidv7(), order_id, machine_id, ${second}, k, '{}', done_on, done_on FROM past CROSS JOIN unnest(ARRAY['accept', 'start', 'note']) k WHERE order_id IS NOT NULL`,
  )
  await say(
    `INSERT INTO measurement (organisation_id, id, machine_id, component_id, service_record_id, work_order_id, name, value_mm, measured_on, created_at)
     SELECT $1, uuidv7(), p.machine_id, c.component_id, record_id, order_id, 'motor_brush', 15 - (10 - i) * 0.3, done_on, done_on FROM past p
     JOIN component_placement c ON c.organisation_id = $1 AND c.machine_id = p.machine_id
     JOIN component x ON x.organisation_id = $1 AND x.id = c.component_id JOIN component_type t ON t.organisation_id = $1 AND t.id = x.component_type_id AND t.key = 'motor_brush_set'
     WHERE order_id IS NOT NULL AND i % 3 = 0`,
  )
  await say(
    `INSERT INTO stoppage (organisation_id, id, machine_id, warehouse_id, planned, failed_at, noticed_at, reported_at, work_begun_at, repaired_at, checked_at, back_in_use_at, created_at)
     SELECT $1, uuidv7(), m.id, $2, i % 3 = 0, f.at, f.at, f.at + interval '5 min', f.at + interval '40 min', f.at + interval '65 min', f.at + interval '70 min', f.at + interval '75 min', f.at
     FROM machine m CROSS JOIN generate_series(1, ${STOPPAGES_A_MACHINE}) i CROSS JOIN LATERAL (SELECT $3::date - i * 300 - hashtext(m.id::text) % 140 + time '09:00' AS at) f WHERE m.organisation_id = $1`,
    warehouseId,
    today,
  )
  await say(
    `INSERT INTO finding (organisation_id, id, machine_id, found_on, text, settled_on, settled_note, created_at)
     SELECT $1, uuidv7(), id, $2::date - 20, 'Cover scratched', CASE WHEN hashtext(id::text) % 40 = 0 THEN NULL ELSE $2::date - 3 END, '', $2::date - 20 FROM machine WHERE organisation_id = $1 AND hashtext(id::text) % 4 = 0`,
    today,
  )
  await say(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, sent_at, created_at)
     SELECT $1, uuidv7(), ${second}, $2, $3::date - d, 'digest', '', 'sent', $3::date - d, $3::date - d + 1, $3::date - d, $3::date - d FROM generate_series(1, 1000) d`,
    warehouseId,
    today,
  )
  await say(
    `INSERT INTO reminder (organisation_id, id, occurrence_id, stage, person_id, warehouse_id, class, say_on, message_id, created_at)
     SELECT $1, uuidv7(), p.occurrence_id, s, ${second}, $2, 'digest', p.done_on - 7, x.id, p.done_on - 7 FROM past p
     CROSS JOIN unnest(ARRAY['coming_due', 'due']) s JOIN message x ON x.organisation_id = $1 AND x.local_day = p.done_on - 7 AND x.state = 'sent'`,
    warehouseId,
  )
  await say(
    `INSERT INTO ledger_day (organisation_id, machine_id, day, warehouse_id, strips, metres, motor_minutes, strips_total, kind, relative_error)
     SELECT $1, f.machine_id, f.day - n, f.warehouse_id, f.strips, f.metres, f.motor_minutes, f.strips_total - n * f.strips, f.kind, f.relative_error
     FROM (SELECT DISTINCT ON (machine_id) * FROM ledger_day WHERE organisation_id = $1 ORDER BY machine_id, day) f CROSS JOIN generate_series(1, ${LEDGER_DAYS}) n`,
  )
  await owner.query(`SET session_replication_role = DEFAULT`)
  await owner.query('DROP TABLE past')
  await owner.query('ANALYZE')
}
