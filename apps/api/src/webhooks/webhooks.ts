/** Word to other programs: to whom, about what; each telling seen and sent again. The worker sends them. */
import { newWebhookSecret } from '@tapewarden/messaging'
import { ConflictError, InvalidError, newId, seal, WEBHOOK_SECRETS } from '@tapewarden/platform'
import type { RouteBody, RouteQuery, RouteResult, Routes, Webhook, WebhookDelivery } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import { assignments, type Columns, requireVersion } from '../use/patch.js'
import type { Changing, Reading } from '../use/work.js'

const MOST = 20
const COLUMNS: Columns = { name: 'name', url: 'url', kinds: 'kinds', warehouseIds: 'warehouse_ids' }

type WebhookRow = Webhook & Record<string, unknown>
const SELECT = `SELECT w.id, w.name, w.url, w.kinds, w.warehouse_ids::text[] AS "warehouseIds", p.name AS "createdByName", w.created_at AS "createdAt",
    w.failing_since AS "failingSince", w.off_at AS "offAt", w.off_reason AS "offReason", w.version,
    (SELECT count(*)::int FROM webhook_delivery d WHERE d.organisation_id = $1 AND d.webhook_id = w.id AND d.state IN ('pending', 'claimed')) AS waiting
  FROM webhook w JOIN person p ON p.organisation_id = w.organisation_id AND p.id = w.created_by WHERE w.organisation_id = $1`

export async function listWebhooks(reading: Reading): Promise<RouteResult<Routes['listWebhooks']>> {
  return { items: await reading.rows<WebhookRow>(`${SELECT} ORDER BY w.name, w.id`) }
}

const webhookOf = (reading: Reading, id: string): Promise<WebhookRow> => reading.one<WebhookRow>('webhook', `${SELECT} AND w.id = $2`, [id])

async function refuseUnknownWarehouses(changing: Changing, ids: readonly string[] | null | undefined): Promise<void> {
  if (!ids) return
  const known = await changing.rows(`SELECT id FROM warehouse WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [ids])
  if (known.length !== new Set(ids).size)
    throw new InvalidError('UNKNOWN_WAREHOUSE', 'One of these warehouses is not here.', '/warehouseIds')
}

function sealed(changing: Changing, secretKey: string, id: string, secret: string): Buffer {
  return seal(secretKey, WEBHOOK_SECRETS, `${changing.who.organisationId} ${id}`, secret)
}

export async function createWebhook(
  changing: Changing,
  secretKey: string,
  body: RouteBody<Routes['createWebhook']>,
): Promise<RouteResult<Routes['createWebhook']>> {
  await refuseUnknownWarehouses(changing, body.warehouseIds)
  const there = await changing.rows(`SELECT id FROM webhook WHERE organisation_id = $1`)
  if (there.length >= MOST) throw new InvalidError('TOO_MANY_WEBHOOKS', `There are ${MOST} already. Take one away first.`)
  const id = newId()
  const secret = newWebhookSecret()
  await changing.run(
    `INSERT INTO webhook (organisation_id, id, name, url, kinds, warehouse_ids, sealed_secret, created_by, created_at, due_since)
     VALUES ($1, $2, $3, $4, $5::text[], $6::uuid[], $7, $8, $9, ($9::timestamptz AT TIME ZONE 'UTC')::date)`,
    [
      id,
      body.name,
      body.url,
      [...new Set(body.kinds)],
      body.warehouseIds,
      sealed(changing, secretKey, id, secret),
      changing.who.personId,
      changing.now,
    ],
  )
  const webhook = await webhookOf(changing, id)
  changing.note({ action: 'create', subjectKind: 'webhook', subjectId: id, after: webhook })
  return { webhook, secret }
}

/** What waited while it was off is not sent late: the receiver asks for what it missed. */
async function turn(changing: Changing, id: string, on: boolean): Promise<void> {
  await changing.run(
    on
      ? `UPDATE webhook SET off_at = NULL, off_reason = NULL, failing_since = NULL, due_since = ($3::timestamptz AT TIME ZONE 'UTC')::date WHERE organisation_id = $1 AND id = $2`
      : `UPDATE webhook SET off_at = $3, off_reason = 'Turned off by hand.' WHERE organisation_id = $1 AND id = $2 AND off_at IS NULL`,
    [id, changing.now],
  )
  if (!on)
    await changing.run(
      `UPDATE webhook_delivery SET state = 'failed', ended_at = $3, lease_until = NULL, last_error = 'Turned off before it was sent.'
       WHERE organisation_id = $1 AND webhook_id = $2 AND state IN ('pending', 'claimed')`,
      [id, changing.now],
    )
}

export async function patchWebhook(changing: Changing, id: string, body: RouteBody<Routes['patchWebhook']>): Promise<Webhook> {
  await changing.rows(`SELECT id FROM webhook WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [id])
  const before = await webhookOf(changing, id)
  requireVersion(body.version, before.version)
  await refuseUnknownWarehouses(changing, body.warehouseIds)
  const { set, values } = assignments(COLUMNS, body, 3)
  await changing.run(`UPDATE webhook SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    id,
    ...values,
  ])
  if (body.on !== undefined) await turn(changing, id, body.on)
  const after = await webhookOf(changing, id)
  changing.note({ action: 'change', subjectKind: 'webhook', subjectId: id, before, after })
  return after
}

export async function removeWebhook(changing: Changing, id: string): Promise<{ done: true }> {
  const before = await webhookOf(changing, id)
  await changing.run(`DELETE FROM webhook WHERE organisation_id = $1 AND id = $2`, [id])
  changing.note({ action: 'remove', subjectKind: 'webhook', subjectId: id, before })
  return { done: true }
}

/** The earlier secret signs nothing any more from here on. */
export async function renewWebhookSecret(
  changing: Changing,
  secretKey: string,
  id: string,
): Promise<RouteResult<Routes['renewWebhookSecret']>> {
  const secret = newWebhookSecret()
  await webhookOf(changing, id)
  await changing.run(`UPDATE webhook SET sealed_secret = $3, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    id,
    sealed(changing, secretKey, id, secret),
  ])
  changing.note({ action: 'renew secret', subjectKind: 'webhook', subjectId: id })
  return { webhook: await webhookOf(changing, id), secret }
}

type DeliveryRow = WebhookDelivery & Record<string, unknown>
const DELIVERY = `SELECT d.id, d.kind, d.body AS data, d.state, d.attempts, CASE WHEN d.state = 'pending' THEN d.send_after END AS "nextAt",
    d.last_status AS "lastStatus", d.last_error AS "lastError", d.created_at AS "createdAt", d.ended_at AS "endedAt"
  FROM webhook_delivery d WHERE d.organisation_id = $1 AND d.webhook_id = $2`

export async function listDeliveries(
  reading: Reading,
  webhookId: string,
  query: RouteQuery<Routes['listWebhookDeliveries']>,
): Promise<RouteResult<Routes['listWebhookDeliveries']>> {
  await webhookOf(reading, webhookId)
  const after = readCursor(query.cursor, ['instant', 'id'])
  const rows = await reading.rows<DeliveryRow>(
    `${DELIVERY} AND ($3::text IS NULL OR d.state = $3 OR ($3 = 'pending' AND d.state = 'claimed')) AND ($4::timestamptz IS NULL OR (d.created_at, d.id) < ($4, $5::uuid))
     ORDER BY d.created_at DESC, d.id DESC LIMIT $6`,
    [webhookId, query.state ?? null, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.createdAt, row.id],
    (row) => row,
  )
}

async function refuseWhenOff(reading: Reading, webhookId: string): Promise<void> {
  if ((await webhookOf(reading, webhookId)).offAt !== null) throw new ConflictError('WEBHOOK_OFF', 'This is off. Turn it on first.')
}

/** The same telling under its own id, so that whoever has it already knows it. */
export async function sendAgain(changing: Changing, webhookId: string, deliveryId: string): Promise<WebhookDelivery> {
  await refuseWhenOff(changing, webhookId)
  await changing.one(
    'delivery',
    `UPDATE webhook_delivery SET state = 'pending', attempts = 0, send_after = $4, ended_at = NULL, lease_until = NULL, fencing = fencing + 1
     WHERE organisation_id = $1 AND webhook_id = $2 AND id = $3 RETURNING id`,
    [webhookId, deliveryId, changing.now],
  )
  changing.note({ action: 'send again', subjectKind: 'webhook_delivery', subjectId: deliveryId })
  return changing.one<DeliveryRow>('delivery', `${DELIVERY} AND d.id = $3`, [webhookId, deliveryId])
}

export async function tryWebhook(changing: Changing, webhookId: string): Promise<WebhookDelivery> {
  await refuseWhenOff(changing, webhookId)
  const id = newId()
  await changing.run(
    `INSERT INTO webhook_delivery (organisation_id, id, webhook_id, kind, event_key, body, send_after, created_at)
     VALUES ($1, $2, $3, 'test', $4, $5, $6, $6)`,
    [id, webhookId, `test ${id}`, JSON.stringify({ says: 'A trial. Nothing has happened.' }), changing.now],
  )
  changing.note({ action: 'try', subjectKind: 'webhook', subjectId: webhookId })
  return changing.one<DeliveryRow>('delivery', `${DELIVERY} AND d.id = $3`, [webhookId, id])
}
