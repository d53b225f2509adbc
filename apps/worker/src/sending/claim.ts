import type { MailKind, NoteFacts } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'

/** A message in hand. The fencing number goes up with every claim: who holds an older one can write nothing any more. */
export interface Claimed {
  id: string
  fencing: number
  attempts: number
  personId: string
  warehouseId: string | null
  localDay: string
  class: 'digest' | 'urgent' | 'account'
  kind: MailKind
  /** Whose mail no longer arrives, where this message tells someone so. */
  insteadOfId: string | null
  /** What a mail about the mails says. */
  facts: NoteFacts | null
}

/**
 * Takes a message that is due, or one whose holder let its lease run out before handing it over.
 * Never one that was being handed over: nobody knows what became of that.
 * @returns null where there is nothing to take
 */
export async function claimMessage(scope: PgScope, messageId: string, now: Date, leaseSeconds: number): Promise<Claimed | null> {
  const rows = await scope.rows<Claimed & Record<string, unknown>>(
    `UPDATE message SET state = 'claimed', lease_until = clock_timestamp() + make_interval(secs => $4), fencing = fencing + 1, attempts = attempts + 1
     WHERE organisation_id = $1 AND id = $2 AND expires_at > $3
       AND ((state = 'pending' AND send_after <= $3) OR (state = 'claimed' AND lease_until < clock_timestamp()))
     RETURNING id, fencing, attempts, person_id AS "personId", warehouse_id AS "warehouseId", local_day AS "localDay", class,
       COALESCE(content ->> 'kind', 'digest') AS kind, content ->> 'insteadOfId' AS "insteadOfId",
       content -> 'facts' AS facts`,
    [scope.organisationId, messageId, now, leaseSeconds],
  )
  return rows[0] ?? null
}

const HELD = `organisation_id = $1 AND id = $2 AND fencing = $3`

/** @returns false where the lease ran out and someone else has the message now */
export async function markHandingOver(
  scope: PgScope,
  { id, fencing }: Claimed,
  mail: { toAddress: string; subject: string; content: unknown },
  now: Date,
  leaseSeconds: number,
): Promise<boolean> {
  const marked = await scope.run(
    `UPDATE message SET state = 'handing_over', handed_over_at = $4, lease_until = clock_timestamp() + make_interval(secs => $5),
       to_address = $6, subject = $7, content = $8
     WHERE ${HELD} AND state = 'claimed' AND lease_until > clock_timestamp()`,
    [scope.organisationId, id, fencing, now, leaseSeconds, mail.toAddress, mail.subject, JSON.stringify(mail.content)],
  )
  return marked === 1
}

/** Ends a claim that has nothing to say or nobody to say it to; what is still open in it is free to be told to someone else. */
export async function markExpired(scope: PgScope, { id, fencing }: Claimed, why: string): Promise<void> {
  await scope.run(`UPDATE message SET state = 'expired', lease_until = NULL, last_error = $4 WHERE ${HELD} AND state = 'claimed'`, [
    scope.organisationId,
    id,
    fencing,
    why,
  ])
  await scope.run('UPDATE reminder SET message_id = NULL WHERE organisation_id = $1 AND message_id = $2', [scope.organisationId, id])
  await scope.run('UPDATE message SET folded_into_id = NULL WHERE organisation_id = $1 AND folded_into_id = $2', [scope.organisationId, id])
  await scope.run('UPDATE work_order SET told_message_id = NULL WHERE organisation_id = $1 AND told_message_id = $2', [
    scope.organisationId,
    id,
  ])
}

/**
 * The sweep may have called the message uncertain while a slow server was still answering. What we now know for
 * certain is still worth more, unless the doubt has been told in a later digest.
 */
const OURS_STILL = `${HELD} AND (state = 'handing_over' OR (state = 'uncertain' AND folded_into_id IS NULL))`

export async function markSent(scope: PgScope, { id, fencing }: Claimed, now: Date): Promise<boolean> {
  const marked = await scope.run(
    `UPDATE message SET state = 'sent', sent_at = $4, lease_until = NULL, last_error = NULL WHERE ${OURS_STILL}`,
    [scope.organisationId, id, fencing, now],
  )
  return marked === 1
}

export async function markReturned(scope: PgScope, { id, fencing }: Claimed, why: string, sendAfter: Date): Promise<boolean> {
  const marked = await scope.run(
    `UPDATE message SET state = 'pending', send_after = $4, handed_over_at = NULL, lease_until = NULL, last_error = $5 WHERE ${OURS_STILL}`,
    [scope.organisationId, id, fencing, sendAfter, why],
  )
  return marked === 1
}

export async function markFailed(scope: PgScope, { id, fencing }: Claimed, why: string): Promise<boolean> {
  const marked = await scope.run(`UPDATE message SET state = 'failed', lease_until = NULL, last_error = $4 WHERE ${OURS_STILL}`, [
    scope.organisationId,
    id,
    fencing,
    why,
  ])
  return marked === 1
}

export async function markUncertain(scope: PgScope, { id, fencing }: Claimed, why: string): Promise<boolean> {
  const marked = await scope.run(`UPDATE message SET state = 'uncertain', lease_until = NULL, last_error = $4 WHERE ${OURS_STILL}`, [
    scope.organisationId,
    id,
    fencing,
    why,
  ])
  return marked === 1
}

/**
 * The address takes no mail: no more is sent there, and what the message held is free to go to whoever stands in.
 * In the transaction that marks the message failed.
 */
export async function giveUpAddress(scope: PgScope, { id, personId }: Claimed, address: string, reason: string): Promise<void> {
  await scope.run('UPDATE person SET mail_refused_address = $3, mail_refused_reason = $4 WHERE organisation_id = $1 AND id = $2', [
    scope.organisationId,
    personId,
    address,
    reason.slice(0, 600),
  ])
  await scope.run('UPDATE reminder SET message_id = NULL WHERE organisation_id = $1 AND message_id = $2', [scope.organisationId, id])
  await scope.run('UPDATE message SET folded_into_id = NULL WHERE organisation_id = $1 AND folded_into_id = $2', [scope.organisationId, id])
  await scope.run('UPDATE work_order SET told_message_id = NULL WHERE organisation_id = $1 AND told_message_id = $2', [
    scope.organisationId,
    id,
  ])
}
