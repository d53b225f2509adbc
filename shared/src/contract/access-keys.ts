/** Keys for programs: what they may do, where, until when. The secret is shown once. */
import { z } from 'zod'
import { idSchema, nameSchema } from './common.js'

export const KEY_SCOPES = ['evidence:write', 'evidence:read', 'fleet:read', 'dates:read', 'stoppages:write'] as const
export const keyScopeSchema = z.enum(KEY_SCOPES)
export type KeyScope = z.infer<typeof keyScopeSchema>

export const accessKeySchema = z.object({
  id: z.string(),
  name: z.string(),
  scopes: z.array(keyScopeSchema),
  /** null: every warehouse. */
  warehouseIds: z.array(z.string()).nullable(),
  /** The last four signs of the secret, to tell keys apart. */
  hint: z.string(),
  createdByName: z.string(),
  /** Who made it may still know the secret. */
  createdByDisabled: z.boolean(),
  createdAt: z.string(),
  expiresAt: z.string(),
  lastUsedAt: z.string().nullable(),
  state: z.enum(['good', 'expired', 'revoked']),
})
export type AccessKey = z.infer<typeof accessKeySchema>

export const createAccessKeyRequestSchema = z.strictObject({
  name: nameSchema(100),
  scopes: z.array(keyScopeSchema).min(1).max(KEY_SCOPES.length),
  warehouseIds: z.array(idSchema).min(1).max(500).nullable().default(null),
  days: z.number().int().min(1).max(366),
})
export type CreateAccessKeyRequest = z.input<typeof createAccessKeyRequestSchema>
export const createdAccessKeySchema = z.object({ key: accessKeySchema, secret: z.string() })
export const accessKeyParamsSchema = z.strictObject({ accessKeyId: idSchema })
