/** Word to other programs: which address hears of what, and each telling with what became of it. The secret is shown once. */
import { z } from 'zod'
import { idSchema, nameSchema, pageQueryShape, textSchema, versionSchema } from './common.js'

export const WEBHOOK_KINDS = ['due', 'work_order', 'stoppage'] as const
export const webhookKindSchema = z.enum(WEBHOOK_KINDS)
export type WebhookKind = z.infer<typeof webhookKindSchema>

/** Whether the address may be asked at all is looked at when something is sent, and again each time. */
const urlSchema = textSchema(1000).refine((text) => {
  if (!URL.canParse(text)) return false
  const url = new URL(text)
  return ['https:', 'http:'].includes(url.protocol) && url.username === '' && url.password === '' && url.hash === ''
}, 'must be an address that begins with https://, without a name or password in it')

const given = {
  name: nameSchema(100),
  url: urlSchema,
  kinds: z.array(webhookKindSchema).min(1).max(WEBHOOK_KINDS.length),
  warehouseIds: z.array(idSchema).min(1).max(500).nullable(),
}
export const createWebhookRequestSchema = z.strictObject({ ...given, warehouseIds: given.warehouseIds.default(null) })
export const patchWebhookRequestSchema = z.strictObject(given).partial().extend({
  /** true turns one on again that was off, false turns it off. */
  on: z.boolean().optional(),
  version: versionSchema.optional(),
})

export const webhookSchema = z.object({
  id: z.string(),
  name: z.string(),
  url: z.string(),
  kinds: z.array(webhookKindSchema),
  warehouseIds: z.array(z.string()).nullable(),
  createdByName: z.string(),
  createdAt: z.string(),
  /** Since when nothing has arrived; null: the last telling arrived, or none was made. */
  failingSince: z.string().nullable(),
  offAt: z.string().nullable(),
  offReason: z.string().nullable(),
  waiting: z.number().int(),
  version: z.number().int(),
})
export type Webhook = z.infer<typeof webhookSchema>
export const createdWebhookSchema = z.object({ webhook: webhookSchema, secret: z.string() })

export const webhookDeliverySchema = z.object({
  id: z.string(),
  kind: z.enum([...WEBHOOK_KINDS, 'test']),
  /** What is sent, without who sends it and when. */
  data: z.record(z.string(), z.unknown()),
  state: z.enum(['pending', 'claimed', 'delivered', 'failed']),
  attempts: z.number().int(),
  nextAt: z.string().nullable(),
  lastStatus: z.number().int().nullable(),
  lastError: z.string().nullable(),
  createdAt: z.string(),
  endedAt: z.string().nullable(),
})
export type WebhookDelivery = z.infer<typeof webhookDeliverySchema>

export const webhookParamsSchema = z.strictObject({ webhookId: idSchema })
export const webhookDeliveryParamsSchema = z.strictObject({ webhookId: idSchema, deliveryId: idSchema })
export const listWebhookDeliveriesQuerySchema = z.strictObject({
  state: z.enum(['pending', 'delivered', 'failed']).optional(),
  ...pageQueryShape,
})
