/** Photos of a machine: re-encoded on the phone, kept without place and camera. */
import { z } from 'zod'
import { idSchema, instantSchema, textSchema } from './common.js'

/** Of the picture itself; its base64 is a third longer. */
export const PHOTO_MOST_BYTES = 1_048_576
const MOST_LETTERS = Math.ceil(PHOTO_MOST_BYTES / 3) * 4

export const photoSchema = z.object({
  id: z.string(),
  machineId: z.string(),
  workOrderId: z.string().nullable(),
  caption: z.string(),
  widthPx: z.number().int(),
  heightPx: z.number().int(),
  takenAt: z.string(),
  personName: z.string(),
})
export type Photo = z.infer<typeof photoSchema>

export const addPhotoRequestSchema = z.strictObject({
  /** Made on the phone; the same id twice is one photo. */
  id: idSchema,
  machineId: idSchema,
  workOrderId: idSchema.nullable().default(null),
  caption: textSchema(200).default(''),
  takenAt: instantSchema,
  /** A JPEG, in base64. */
  content: z.base64().min(4).max(MOST_LETTERS),
})
export type AddPhotoRequest = z.input<typeof addPhotoRequestSchema>
export const listPhotosQuerySchema = z
  .strictObject({ machineId: idSchema.optional(), workOrderId: idSchema.optional() })
  .refine(({ machineId, workOrderId }) => (machineId === undefined) !== (workOrderId === undefined), {
    message: 'name one machine or one work order',
    path: ['machineId'],
  })
export const photoParamsSchema = z.strictObject({ photoId: idSchema })
