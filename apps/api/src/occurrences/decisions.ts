import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import { careOf, checkPutOff, checkSkip, dayOf, type Decision } from '@tapewarden/scheduling'
import type { Occurrence, RouteBody, Routes } from '@tapewarden/shared'
import { dayTable, readCalendars } from '../use/calendar.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { getOccurrence } from './occurrence-reads.js'

async function lockOpen(changing: Changing, occurrenceId: string): Promise<Occurrence> {
  await changing.rows(`SELECT id FROM occurrence WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [occurrenceId])
  const before = await getOccurrence(changing, occurrenceId)
  if (before.state !== 'open') throw new ConflictError('NOT_OPEN', `This is ${before.state} already.`)
  return before
}

function refuse(decision: Decision, pointer: string): void {
  if (!decision.allowed) throw new InvalidError(decision.code, decision.reason, pointer)
}

function decidedOf(occurrence: Occurrence) {
  return {
    safetyCheck: occurrence.safetyCheck,
    monthlyListed: occurrence.kind === 'monthly',
    care: careOf(occurrence),
    hardLimitOn: occurrence.hardLimitOn === null ? null : dayOf(occurrence.hardLimitOn),
  }
}

/** What nobody has begun no longer asks for it. An order already under way keeps it, and its answer counts as evidence. */
export async function takeOffDrafts(changing: Changing, occurrenceId: string): Promise<void> {
  const rows = await changing.rows<{ id: string }>(
    `DELETE FROM work_order_task t USING work_order w
     WHERE t.organisation_id = $1 AND t.occurrence_id = $2 AND t.outcome IS NULL AND w.organisation_id = $1 AND w.id = t.work_order_id
       AND w.state IN ('drafted', 'issued', 'accepted', 'returned') RETURNING w.id`,
    [occurrenceId],
  )
  await changing.run(
    `UPDATE work_order w SET state = 'cancelled', cancel_reason = 'What it was for is no longer due.', version = w.version + 1
     WHERE w.organisation_id = $1 AND w.id = ANY($2::uuid[]) AND NOT EXISTS (SELECT 1 FROM work_order_task t WHERE t.organisation_id = $1 AND t.work_order_id = w.id)`,
    [rows.map((row) => row.id)],
  )
}

/** Rule 11: superseded, and the next number has the new day as due day and window end, the same baseline and its own reminders. */
export async function putOff(changing: Changing, occurrenceId: string, body: RouteBody<Routes['putOffOccurrence']>): Promise<Occurrence> {
  const before = await lockOpen(changing, occurrenceId)
  const [calendar] = await readCalendars(changing, [before.warehouseId])
  if (!calendar) throw new InvalidError('UNKNOWN_WAREHOUSE', 'Its warehouse is gone.')
  const today = localDateOf(changing.now, calendar.zone)
  const asked = {
    until: dayOf(body.until),
    today: dayOf(today),
    role: changing.who.role,
    reason: body.reason,
    newHardLimitOn: body.newHardLimitOn === undefined ? null : dayOf(body.newHardLimitOn),
  }
  refuse(checkPutOff(dayTable(calendar, today), decidedOf(before), asked), '/until')
  const pastLimit = before.hardLimitOn !== null && body.until > before.hardLimitOn
  await end(changing, occurrenceId, 'superseded', today, `Put off until ${body.until} by ${changing.who.name}: ${body.reason}`)
  const id = newId()
  await changing.run(
    `INSERT INTO occurrence (organisation_id, id, machine_id, service_task_id, plan_task_id, warehouse_id, component_id, sequence, kind, state, opened_on, nominal_on,
       window_from, window_to, hard_limit_on, due_on, late_from, governing_trigger, basis, created_at)
     SELECT organisation_id, $3, machine_id, service_task_id, plan_task_id, warehouse_id, component_id,
       (SELECT max(x.sequence) + 1 FROM occurrence x WHERE x.organisation_id = o.organisation_id AND x.machine_id = o.machine_id AND x.service_task_id = o.service_task_id),
       'put_off', 'open', $4, nominal_on, LEAST(window_from, $5::date), $5, $6, $5, $5::date + 1, governing_trigger,
       basis || jsonb_build_object('putOffUntil', $5::text, 'putOffBy', $7::text, 'putOffReason', $8::text), $9
     FROM occurrence o WHERE o.organisation_id = $1 AND o.id = $2`,
    [
      occurrenceId,
      id,
      today,
      body.until,
      pastLimit ? (body.newHardLimitOn ?? null) : before.hardLimitOn,
      changing.who.name,
      body.reason,
      changing.now,
    ],
  )
  await takeOffDrafts(changing, occurrenceId)
  const after = await getOccurrence(changing, id)
  changing.note({ action: 'put off', subjectKind: 'occurrence', subjectId: occurrenceId, before, after })
  changing.datesMayMove(before.warehouseId)
  return after
}

/** Rule 13: the next calendar point is the next scheduled one; usage, wear and life clocks still run from the last done. */
export async function skip(changing: Changing, occurrenceId: string, reason: string): Promise<Occurrence> {
  const before = await lockOpen(changing, occurrenceId)
  const [calendar] = await readCalendars(changing, [before.warehouseId])
  const today = localDateOf(changing.now, calendar?.zone ?? 'UTC')
  refuse(checkSkip(decidedOf(before), { today: dayOf(today), role: changing.who.role, reason }), '/reason')
  await end(changing, occurrenceId, 'skipped', today, reason)
  await takeOffDrafts(changing, occurrenceId)
  const after = await getOccurrence(changing, occurrenceId)
  changing.note({ action: 'skip', subjectKind: 'occurrence', subjectId: occurrenceId, before, after })
  changing.datesMayMove(before.warehouseId)
  return after
}

async function end(
  changing: Changing,
  occurrenceId: string,
  state: 'superseded' | 'skipped',
  today: string,
  reason: string,
): Promise<void> {
  await changing.run(
    `UPDATE occurrence SET state = $3, ended_on = $4, end_reason = $5, version = version + 1 WHERE organisation_id = $1 AND id = $2`,
    [occurrenceId, state, today, reason],
  )
}
