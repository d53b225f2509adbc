import type { PgScope } from '@tapewarden/persistence/sql'
import { releaseHeld } from '../support/release-held.js'
import { type ExpiredMessage, noteNotInTime } from './not-in-time.js'

export interface Settled {
  uncertain: number
  released: number
  expired: number
}

/**
 * Settles what a dead or stopped worker left: a message whose handing-over never ended is uncertain; a claim that ended
 * before it is free again; what nobody could send in time ends, and its reminders go into the next digest.
 */
export async function settleMessages(scope: PgScope, now: Date): Promise<Settled> {
  const values = [scope.organisationId]
  const uncertain = await scope.run(
    `UPDATE message SET state = 'uncertain', lease_until = NULL, last_error = COALESCE(last_error, 'The worker ended while it handed the mail over; it may have arrived.')
     WHERE organisation_id = $1 AND state = 'handing_over' AND lease_until < clock_timestamp()`,
    values,
  )
  const released = await scope.run(
    `UPDATE message SET state = 'pending', lease_until = NULL WHERE organisation_id = $1 AND state = 'claimed' AND lease_until < clock_timestamp()`,
    values,
  )
  const expired = await scope.rows<ExpiredMessage & Record<string, unknown>>(
    `UPDATE message SET state = 'expired', last_error = COALESCE(last_error, 'It could not be sent in time.')
     WHERE organisation_id = $1 AND state = 'pending' AND expires_at <= $2
     RETURNING id, person_id AS "personId", warehouse_id AS "warehouseId", local_day AS "localDay", last_error AS reason, class_key AS "classKey"`,
    [scope.organisationId, now],
  )
  for (const message of expired) await noteNotInTime(scope, message, now)
  if (expired.length > 0)
    await releaseHeld(
      scope,
      expired.map(({ id }) => id),
    )
  return { uncertain, released, expired: expired.length }
}
