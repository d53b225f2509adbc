import { newId } from '@tapewarden/platform'
import type { PgScope } from '../pg-scope.js'

/** What stands still, as the mail about it says; classKey tells causes apart: one alarm a person, day and cause. */
export interface Alarm {
  classKey: string
  facts: { kind: string } & Readonly<Record<string, unknown>>
  /** Not administrators alone. */
  alsoManagers?: boolean
}

/** Older than this, an alarm says what is no longer so. */
const EXPIRES_HOURS = 12

/** One alarm an administrator: to those who can have mail, else to the managers. @returns the messages made now */
export async function writeAlarms(scope: PgScope, now: Date, { classKey, facts, alsoManagers = false }: Alarm): Promise<string[]> {
  const people = await scope.rows<{ id: string }>(
    `SELECT id FROM (SELECT id, role, rank() OVER (ORDER BY role = 'administrator' DESC) AS place FROM person
       WHERE organisation_id = $1 AND role IN ('administrator', 'manager') AND disabled_at IS NULL AND email IS NOT NULL
         AND lower(email) IS DISTINCT FROM lower(mail_refused_address)) p WHERE place = 1 OR $2`,
    [scope.organisationId, alsoManagers],
  )
  const made = await scope.rows<{ id: string }>(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     SELECT $1, p.id, p.person_id, NULL, ($3::timestamptz AT TIME ZONE 'UTC')::date, 'urgent', $4, 'pending', $3, $3::timestamptz + make_interval(hours => ${EXPIRES_HOURS}), $5, $3
     FROM jsonb_to_recordset($2::jsonb) AS p(id uuid, person_id uuid) ON CONFLICT DO NOTHING RETURNING id`,
    [
      scope.organisationId,
      JSON.stringify(people.map(({ id }) => ({ id: newId(), person_id: id }))),
      now,
      classKey,
      JSON.stringify({ v: 1, kind: facts.kind, facts }),
    ],
  )
  return made.map(({ id }) => id)
}
