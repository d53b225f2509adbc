/**
 * Sessions that nobody uses end before their 14 days (ADR 0195). By the database's own time and the row's alone, so it
 * does not matter which process is asked; a turn on a shared tablet has an end of its own and is not meant.
 */
import type { PgScope } from '@tapewarden/persistence'

/** Whoever sees everything signs in once a working day; on site a shift, and a free weekend, asks nobody. */
export const DESK_UNUSED_HOURS = 12
export const SITE_UNUSED_HOURS = 72

/** Of session s and its person p, by the role that they have now. */
export const UNUSED_ENDS_AT = `s.last_seen_at + make_interval(hours => CASE WHEN p.role IN ('administrator', 'manager') THEN ${DESK_UNUSED_HOURS} ELSE ${SITE_UNUSED_HOURS} END)`
export const LEFT_UNUSED = `${UNUSED_ENDS_AT} <= clock_timestamp()`

/** Once a minute at most: so much earlier than its hours say a session can end. */
export async function noteUse(scope: PgScope, organisationId: string, sessionId: string): Promise<void> {
  await scope.run(
    `UPDATE session SET last_seen_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND last_seen_at < clock_timestamp() - interval '1 minute'`,
    [organisationId, sessionId],
  )
}

/** For good: another role later does not bring it back. Looked at again, as a request beside this one may just have used it. */
export async function endUnused(scope: PgScope, organisationId: string, sessionId: string): Promise<void> {
  await scope.run(
    `UPDATE session s SET ended_at = clock_timestamp() FROM person p
     WHERE s.organisation_id = $1 AND s.id = $2 AND s.ended_at IS NULL AND p.organisation_id = s.organisation_id AND p.id = s.person_id AND ${LEFT_UNUSED}`,
    [organisationId, sessionId],
  )
}
