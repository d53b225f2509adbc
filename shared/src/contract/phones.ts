/** What a phone says that it still keeps, and what the server can name of it later. */
import { z } from 'zod'
import { idSchema, instantSchema, textSchema } from './common.js'

const keptSchema = z.strictObject({
  /** The entry's own id, as it is sent with later. */
  id: idSchema,
  what: textSchema(160),
  madeAt: instantSchema,
})
export const sayKeptRequestSchema = z.strictObject({
  /** Made by the phone together with its storage. */
  storageId: idSchema,
  kept: z.array(keptSchema).max(500),
})
export const sayKeptSchema = z.object({
  /** Of an earlier storage under the same sign-in: the phone's storage was cleared since. null: nothing says so. */
  cleared: z.object({ storageId: z.string(), lastSaidAt: z.string() }).nullable(),
  /** Said to be kept by another storage of this person, and never arrived. */
  missing: z.array(
    z.object({
      id: z.string(),
      what: z.string(),
      madeAt: z.string(),
      storageId: z.string(),
      saidAt: z.string(),
      /** true: that storage was this phone's; false: it may as well be another phone that still keeps it. */
      ofThisPhone: z.boolean(),
    }),
  ),
  serverTime: z.string(),
})
export type SayKept = z.infer<typeof sayKeptSchema>

/** A person has seen it: entered again, or not needed. None named: that the storage was cleared. */
export const settleKeptRequestSchema = z.strictObject({ entryIds: z.array(idSchema).max(500) })
export const storageParamsSchema = z.strictObject({ storageId: idSchema })
