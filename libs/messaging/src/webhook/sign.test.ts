import { expect, it } from '@jest/globals'
import { createHmac } from 'node:crypto'
import { newWebhookSecret, webhookHeaders } from './sign.js'

it('signs id, moment and body, as a receiver computes it by itself', () => {
  const secret = newWebhookSecret()
  expect(secret).toMatch(/^whsec_[A-Za-z0-9+/]{32}$/)
  const headers = webhookHeaders(secret, 'a-telling', 1_800_000_000, '{"type":"due"}')
  // Standard Webhooks 1.0, "Signature scheme": base64 of HMAC-SHA-256 over `${id}.${timestamp}.${body}`, key in base64 after whsec_.
  const wanted = createHmac('sha256', Buffer.from(secret.slice(6), 'base64'))
    .update('a-telling.1800000000.{"type":"due"}')
    .digest('base64')
  expect(headers).toEqual({ 'webhook-id': 'a-telling', 'webhook-timestamp': '1800000000', 'webhook-signature': `v1,${wanted}` })
})

it.each([
  ['id', ['b', 1_800_000_000, '{}']],
  ['moment', ['a', 1_800_000_001, '{}']],
  ['body', ['a', 1_800_000_000, '{ }']],
] as const)('is another signature for another %s', (_what, [id, at, body]) => {
  const secret = newWebhookSecret()
  const signature = (...of: readonly [string, number, string]) => webhookHeaders(secret, ...of)['webhook-signature']
  expect(signature(id, at, body)).not.toBe(signature('a', 1_800_000_000, '{}'))
})
