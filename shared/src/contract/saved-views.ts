/** Filters of a list kept under a name: the part of the address after the question mark. */
import { z } from 'zod'
import { idSchema, nameSchema, textSchema } from './common.js'

export const viewPlaceSchema = z.enum(['coming_up', 'machines', 'stoppages'])
export const savedViewSchema = z.object({ id: z.string(), place: viewPlaceSchema, name: z.string(), search: z.string() })
export type SavedView = z.infer<typeof savedViewSchema>
/** The same name again replaces what it held. */
export const saveViewRequestSchema = z.strictObject({
  place: viewPlaceSchema,
  name: nameSchema(60),
  search: textSchema(1000).regex(/^[^?#\s<>"]*$/, 'must be the filters of an address'),
})
export const savedViewParamsSchema = z.strictObject({ savedViewId: idSchema })
