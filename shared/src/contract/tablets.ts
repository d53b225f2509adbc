/** Shared tablets: who is working, said by a short code before each sheet. */
import { z } from 'zod'
import { idSchema, nameSchema, namedSchema } from './common.js'

/** Names the tablet itself; opens the question who is working, and nothing else. */
export const TABLET_HEADER = 'x-tablet'
/** Names the turn of the one who is working there. */
export const TURN_HEADER = 'x-tablet-turn'

const shortCodeSchema = z.string().regex(/^\d{4,8}$/, 'must have 4 to 8 digits')

/** null: no code any more. */
export const setShortCodeRequestSchema = z.strictObject({ code: shortCodeSchema.nullable() })
export const shortCodeSchemaOut = z.object({ setAt: z.string().nullable() })

export const tabletSchema = z.object({
  id: z.string(),
  name: z.string(),
  warehouse: namedSchema,
  madeByName: z.string(),
  madeAt: z.string(),
  lastSeenAt: z.string().nullable(),
  endedAt: z.string().nullable(),
})
export type Tablet = z.infer<typeof tabletSchema>
export const createTabletRequestSchema = z.strictObject({ name: nameSchema(100), warehouseId: idSchema })
export const createdTabletSchema = z.object({ tablet: tabletSchema, secret: z.string() })
export const tabletParamsSchema = z.strictObject({ tabletId: idSchema })

/** As the tablet sees itself: those who serve its warehouse, with or without a code yet. */
export const thisTabletSchema = z.object({
  id: z.string(),
  name: z.string(),
  warehouse: namedSchema,
  people: z.array(z.object({ id: z.string(), name: z.string(), hasCode: z.boolean() })),
})
export type ThisTablet = z.infer<typeof thisTabletSchema>
export const beginTurnRequestSchema = z.strictObject({ personId: idSchema, code: shortCodeSchema })
/** The secret stands for this person on this tablet until the code is set anew, the tablet ended, or for 30 days. */
export const turnSchema = z.object({ secret: z.string(), person: namedSchema, expiresAt: z.string() })
