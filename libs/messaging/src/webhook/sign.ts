/** Signs what is told to another program in the form of Standard Webhooks 1.0, for which receivers have libraries. */
import { createHmac, randomBytes } from 'node:crypto'

export const WEBHOOK_SECRET_PREFIX = 'whsec_'

/** 192 bits at random, in base64 after the prefix. */
export function newWebhookSecret(): string {
  return WEBHOOK_SECRET_PREFIX + randomBytes(24).toString('base64')
}

/**
 * HMAC-SHA-256 over `id.timestamp.body`: whoever receives it refuses an old timestamp, and an id that came before.
 * @param timestamp whole seconds since 1970, of this attempt
 */
export function webhookHeaders(secret: string, id: string, timestamp: number, body: string): Record<string, string> {
  const key = Buffer.from(secret.slice(WEBHOOK_SECRET_PREFIX.length), 'base64')
  const signature = createHmac('sha256', key).update(`${id}.${timestamp}.${body}`).digest('base64')
  return { 'webhook-id': id, 'webhook-timestamp': String(timestamp), 'webhook-signature': `v1,${signature}` }
}
