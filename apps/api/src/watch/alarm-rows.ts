import type { NoteFacts, SendOutcome } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import type { Units } from '@tapewarden/shared'

export const ALARM_KEY = 'workers_silent'
/** At most one alarm an hour and organisation, however often workers come and go. */
const REST_MINUTES = 60

export interface Waiting {
  /** Last word of any worker; null: none yet. */
  heardAt: Date | null
  alarmedLately: boolean
  messages: number
  reminders: number
}

export async function readWaiting(scope: PgScope, now: Date): Promise<Waiting> {
  const [row] = await scope.rows<Waiting & Record<string, unknown>>(
    `SELECT (SELECT max(seen_at) FROM heartbeat WHERE organisation_id = $1 AND process LIKE 'worker %') AS "heardAt",
       EXISTS (SELECT 1 FROM message WHERE organisation_id = $1 AND class = 'urgent' AND class_key LIKE '${ALARM_KEY} %'
         AND created_at > $2::timestamptz - interval '${REST_MINUTES} minutes') AS "alarmedLately",
       (SELECT count(*)::int FROM message WHERE organisation_id = $1 AND state = 'pending' AND send_after <= $2 AND expires_at > $2 AND class_key NOT LIKE '${ALARM_KEY} %') AS messages,
       (SELECT count(*)::int FROM reminder WHERE organisation_id = $1 AND message_id IS NULL AND dropped_reason IS NULL AND say_on <= ($2::timestamptz AT TIME ZONE 'UTC')::date) AS reminders`,
    [scope.organisationId, now],
  )
  return row as Waiting
}

/** An api's own word: that it was there, and how far its clock is off. */
export async function beat(scope: PgScope, process: string, now: Date, clockDifferenceMs: number): Promise<void> {
  await scope.run(
    `INSERT INTO heartbeat (organisation_id, process, seen_at, clock_difference_ms) VALUES ($1, $2, $3, $4)
     ON CONFLICT (organisation_id, process) DO UPDATE SET seen_at = excluded.seen_at, clock_difference_ms = excluded.clock_difference_ms`,
    [scope.organisationId, process, now, clockDifferenceMs],
  )
}

export interface PendingAlarm {
  id: string
  name: string
  email: string
  language: string
  units: Units
  day: string
  facts: NoteFacts
}

/** Alarms that nobody has in hand; whoever asks has them until the transaction ends. */
export function readPendingAlarms(scope: PgScope, now: Date): Promise<PendingAlarm[]> {
  return scope.rows<PendingAlarm & Record<string, unknown>>(
    `SELECT m.id, p.name, p.email, p.language, p.units, m.local_day AS day, m.content -> 'facts' AS facts
     FROM message m JOIN person p ON p.organisation_id = $1 AND p.id = m.person_id AND p.email IS NOT NULL AND p.disabled_at IS NULL
     WHERE m.organisation_id = $1 AND m.class_key LIKE '${ALARM_KEY} %' AND m.state = 'pending' AND m.send_after <= $2 AND m.expires_at > $2
     ORDER BY m.id FOR UPDATE OF m SKIP LOCKED`,
    [scope.organisationId, now],
  )
}

/** Committed before the mail is given to the mail server, as every message's is. @returns the fencing number */
export async function markAlarmHandingOver(
  scope: PgScope,
  { id, email }: PendingAlarm,
  subject: string,
  now: Date,
  leaseSeconds: number,
): Promise<string> {
  const [row] = await scope.rows<{ fencing: string }>(
    `UPDATE message SET state = 'handing_over', fencing = fencing + 1, attempts = attempts + 1, handed_over_at = $3,
       lease_until = clock_timestamp() + make_interval(secs => $4), to_address = $5, subject = $6
     WHERE organisation_id = $1 AND id = $2 RETURNING fencing::text`,
    [scope.organisationId, id, now, leaseSeconds, email, subject],
  )
  return row?.fencing ?? ''
}

const STATES: Readonly<Record<SendOutcome['outcome'], string>> = {
  sent: 'sent',
  returned: 'pending',
  refused: 'failed',
  uncertain: 'uncertain',
}

export async function markAlarm(scope: PgScope, id: string, fencing: string, outcome: SendOutcome, now: Date): Promise<void> {
  await scope.run(
    `UPDATE message SET state = $4, lease_until = NULL, last_error = $5, sent_at = CASE WHEN $4 = 'sent' THEN $6::timestamptz END
     WHERE organisation_id = $1 AND id = $2 AND fencing = $3::bigint AND state = 'handing_over'`,
    [scope.organisationId, id, fencing, STATES[outcome.outcome], outcome.outcome === 'sent' ? null : outcome.reason, now],
  )
}

/** What could not be sent while nobody was heard of is not said afterwards. */
export async function endPendingAlarms(scope: PgScope): Promise<void> {
  await scope.run(
    `UPDATE message SET state = 'expired', last_error = 'A worker was heard of again.' WHERE organisation_id = $1 AND class_key LIKE '${ALARM_KEY} %' AND state = 'pending'`,
    [scope.organisationId],
  )
}
