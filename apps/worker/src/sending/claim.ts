import type { MailKind, NoteFacts } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import { preparedRows } from '../support/prepared.js'
import { releaseHeld } from '../support/release-held.js'

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
 * Takes messages that are due, or whose holder let the lease run out before handing them over.
 * Never one that was being handed over: nobody knows what became of that.
 * @returns those that were there to be taken
 */
export async function claimMessages(scope: PgScope, ids: readonly string[], now: Date, leaseSeconds: number): Promise<Claimed[]> {
  return preparedRows<Claimed & Record<string, unknown>>(
    scope,
    'claim messages',
    `UPDATE message SET state = 'claimed', lease_until = clock_timestamp() + make_interval(secs => $4), fencing = fencing + 1, attempts = attempts + 1
     WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND expires_at > $3
       AND ((state = 'pending' AND send_after <= $3) OR (state = 'claimed' AND lease_until < clock_timestamp()))
     RETURNING id, fencing, attempts, person_id AS "personId", warehouse_id AS "warehouseId", local_day AS "localDay", class,
       COALESCE(content ->> 'kind', 'digest') AS kind, content ->> 'insteadOfId' AS "insteadOfId",
       content -> 'facts' AS facts`,
    [scope.organisationId, ids, now, leaseSeconds],
  )
}

/** @returns null where there is nothing to take */
export async function claimMessage(scope: PgScope, messageId: string, now: Date, leaseSeconds: number): Promise<Claimed | null> {
  return (await claimMessages(scope, [messageId], now, leaseSeconds))[0] ?? null
}

/**
 * A holding of a message. Not the message's id alone: a worker that stood still past its lease may take its own job again
 * while it still has the first holding in hand, and both may come in one lot.
 */
export const holdingOf = ({ id, fencing }: Pick<Claimed, 'id' | 'fencing'>): string => `${id} ${fencing}`
const holdingsOf = (rows: readonly Pick<Claimed, 'id' | 'fencing'>[]): Set<string> => new Set(rows.map(holdingOf))

const HELD = `organisation_id = $1 AND id = $2 AND fencing = $3`

export interface HandedMail {
  toAddress: string
  subject: string
  content: unknown
}

/** @returns the holdings that are still ours; of the others the lease ran out and someone else has the message now */
export async function markAllHandingOver(
  scope: PgScope,
  mails: readonly { claimed: Claimed; mail: HandedMail }[],
  now: Date,
  leaseSeconds: number,
): Promise<Set<string>> {
  const rows = mails.map(({ claimed: { id, fencing }, mail }) => ({ id, fencing, ...mail }))
  const marked = await preparedRows<{ id: string; fencing: number }>(
    scope,
    'hand over messages',
    `UPDATE message m SET state = 'handing_over', handed_over_at = $3, lease_until = clock_timestamp() + make_interval(secs => $4),
       to_address = r."toAddress", subject = r.subject, content = r.content
     FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, fencing int, "toAddress" text, subject text, content jsonb)
     WHERE m.organisation_id = $1 AND m.id = r.id AND m.fencing = r.fencing AND m.state = 'claimed' AND m.lease_until > clock_timestamp()
     RETURNING m.id, m.fencing`,
    [scope.organisationId, JSON.stringify(rows), now, leaseSeconds],
  )
  return holdingsOf(marked)
}

/** @returns false where the lease ran out and someone else has the message now */
export async function markHandingOver(
  scope: PgScope,
  claimed: Claimed,
  mail: HandedMail,
  now: Date,
  leaseSeconds: number,
): Promise<boolean> {
  return (await markAllHandingOver(scope, [{ claimed, mail }], now, leaseSeconds)).has(holdingOf(claimed))
}

/** Ends a claim that has nothing to say or nobody to say it to; what is still open in it is free to be told to someone else. */
export async function markExpired(scope: PgScope, { id, fencing }: Claimed, why: string): Promise<void> {
  await scope.run(`UPDATE message SET state = 'expired', lease_until = NULL, last_error = $4 WHERE ${HELD} AND state = 'claimed'`, [
    scope.organisationId,
    id,
    fencing,
    why,
  ])
  await releaseHeld(scope, [id])
}

/**
 * The sweep may have called the message uncertain while a slow server was still answering. What we now know for
 * certain is still worth more, unless the doubt has been told in a later digest.
 */
const OURS_STILL = `${HELD} AND (state = 'handing_over' OR (state = 'uncertain' AND folded_into_id IS NULL))`

/** @returns the holdings that were still ours to mark */
export async function markAllSent(scope: PgScope, claimed: readonly Claimed[], now: Date): Promise<Set<string>> {
  const marked = await preparedRows<{ id: string; fencing: number }>(
    scope,
    'mark messages sent',
    `UPDATE message m SET state = 'sent', sent_at = $4, lease_until = NULL, last_error = NULL
     FROM unnest($2::uuid[], $3::int[]) AS r(id, fencing)
     WHERE m.organisation_id = $1 AND m.id = r.id AND m.fencing = r.fencing
       AND (m.state = 'handing_over' OR (m.state = 'uncertain' AND m.folded_into_id IS NULL))
     RETURNING m.id, m.fencing`,
    [scope.organisationId, claimed.map(({ id }) => id), claimed.map(({ fencing }) => fencing), now],
  )
  return holdingsOf(marked)
}

export async function markSent(scope: PgScope, claimed: Claimed, now: Date): Promise<boolean> {
  return (await markAllSent(scope, [claimed], now)).has(holdingOf(claimed))
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
  await releaseHeld(scope, [id])
}
