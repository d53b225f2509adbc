/**
 * Tells another program once more until it has heard: at least once, under one id, so that a repeat is known as such. Taken by a
 * lease and a fencing number, as messages are; a worker that dies in between leaves it to the sweep.
 */
import { retryDelayMs, webhookHeaders } from '@tapewarden/messaging'
import { type PgScope, writeAlarms } from '@tapewarden/persistence/sql'
import { unseal, WEBHOOK_SECRETS } from '@tapewarden/platform'
import type { JobHandler } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import type { Resolve } from './address.js'
import { type Answered, postWebhook } from './post.js'

/** Longer than any attempt. */
const LEASE_SECONDS = 60
/** After so long without one success it is off, and somebody is told. */
const GIVEN_UP_AFTER = '3 days'

interface Claimed extends Record<string, unknown> {
  id: string
  fencing: number
  attempts: number
  kind: string
  data: unknown
  createdAt: Date
  webhookId: string
  name: string
  url: string
  sealed: Buffer
}

async function claim(scope: PgScope, id: string, now: Date): Promise<Claimed | null> {
  const rows = await scope.rows<Claimed>(
    `UPDATE webhook_delivery d SET state = 'claimed', lease_until = clock_timestamp() + make_interval(secs => $4), fencing = d.fencing + 1, attempts = d.attempts + 1
     FROM webhook w WHERE d.organisation_id = $1 AND d.id = $2 AND w.organisation_id = $1 AND w.id = d.webhook_id AND w.off_at IS NULL
       AND ((d.state = 'pending' AND d.send_after <= $3) OR (d.state = 'claimed' AND d.lease_until < clock_timestamp()))
     RETURNING d.id, d.fencing, d.attempts, d.kind, d.body AS data, d.created_at AS "createdAt", w.id AS "webhookId", w.name, w.url, w.sealed_secret AS sealed`,
    [scope.organisationId, id, now, LEASE_SECONDS],
  )
  return rows[0] ?? null
}

/** @returns false where somebody else has it by now */
async function record(scope: PgScope, claimed: Claimed, { status, error }: Answered, now: Date, nextAt: Date): Promise<boolean> {
  const marked = await scope.run(
    `UPDATE webhook_delivery SET state = CASE WHEN $4::text IS NULL THEN 'delivered' ELSE 'pending' END, lease_until = NULL, last_status = $5, last_error = $4,
       ended_at = CASE WHEN $4::text IS NULL THEN $6::timestamptz END, send_after = CASE WHEN $4::text IS NULL THEN send_after ELSE $7 END
     WHERE organisation_id = $1 AND id = $2 AND fencing = $3 AND state = 'claimed'`,
    [scope.organisationId, claimed.id, claimed.fencing, error, status, now, nextAt],
  )
  return marked === 1
}

interface Failing extends Record<string, unknown> {
  name: string
  forLong: boolean
}

/** Turns off what nobody has answered for days, ends what waits for it, and tells those who answer for it. */
async function noteFailure(scope: PgScope, claimed: Claimed, error: string, now: Date): Promise<void> {
  const [webhook] = await scope.rows<Failing>(
    `UPDATE webhook SET failing_since = COALESCE(failing_since, $3) WHERE organisation_id = $1 AND id = $2 AND off_at IS NULL
     RETURNING name, failing_since <= $3::timestamptz - interval '${GIVEN_UP_AFTER}' AS "forLong"`,
    [scope.organisationId, claimed.webhookId, now],
  )
  if (!webhook?.forLong) return
  const reason = `Nothing has arrived for three days. Last: ${error}`
  await scope.run(`UPDATE webhook SET off_at = $3, off_reason = $4, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    scope.organisationId,
    claimed.webhookId,
    now,
    reason,
  ])
  await scope.run(
    `UPDATE webhook_delivery SET state = 'failed', ended_at = $3, lease_until = NULL, last_error = COALESCE(last_error, 'Turned off before it was sent.')
     WHERE organisation_id = $1 AND webhook_id = $2 AND state IN ('pending', 'claimed')`,
    [scope.organisationId, claimed.webhookId, now],
  )
  await writeAlarms(scope, now, {
    classKey: `webhook_off ${claimed.webhookId}`,
    facts: { kind: 'webhook_off', name: webhook.name, host: new URL(claimed.url).host, reason: error },
    alsoManagers: true,
  })
}

/** @param resolve  how names are looked up; tests give their own @returns a word on what became of it */
export async function deliver(parts: WorkerParts, organisationId: string, deliveryId: string, resolve?: Resolve): Promise<string> {
  const { database, clock, settings } = parts
  const now = await clock.now()
  const claimed = await database.withOrganisationSql(organisationId, (scope) => claim(scope, deliveryId, now))
  if (!claimed) return 'not to be sent now'
  const secret = unseal(settings.SECRET_KEY, WEBHOOK_SECRETS, `${organisationId} ${claimed.webhookId}`, claimed.sealed)
  const body = JSON.stringify({ type: claimed.kind, timestamp: claimed.createdAt.toISOString(), data: claimed.data })
  // By real time: the other side refuses what is old by its own clock, and knows nothing of a shifted one.
  const timestamp = Math.floor(Date.now() / 1000)
  const answered: Answered =
    secret === null
      ? { status: null, error: 'Its secret was made with another SECRET_KEY. Renew the secret.' }
      : await postWebhook(claimed.url, webhookHeaders(secret, claimed.id, timestamp, body), body, settings.WEBHOOK_ALLOWED_HOSTS, resolve)
  const nextAt = new Date(now.getTime() + retryDelayMs(claimed.attempts, settings.SEND_RETRY_SECONDS))
  return database.withOrganisationSql(organisationId, async (scope) => {
    if (!(await record(scope, claimed, answered, now, nextAt))) return 'somebody else has it by now'
    if (answered.error !== null) {
      await noteFailure(scope, claimed, answered.error, now)
      return `not yet: ${answered.error}`
    }
    await scope.run('UPDATE webhook SET failing_since = NULL WHERE organisation_id = $1 AND id = $2 AND failing_since IS NOT NULL', [
      organisationId,
      claimed.webhookId,
    ])
    return 'delivered'
  })
}

export function sendWebhook(parts: WorkerParts): JobHandler<'send_webhook'> {
  return {
    name: 'send_webhook',
    handle: ({ organisationId, deliveryId }) => deliver(parts, organisationId, deliveryId),
  }
}
