/** How a person wants their mail, and their calendars. */
import { z } from 'zod'
import { digestKindSchema, unitsSchema } from '../vocabulary.js'
import { idSchema, pageQueryShape, timeOfDaySchema, versionSchema } from './common.js'

export const mailPreferencesSchema = z.object({
  personId: z.string(),
  name: z.string(),
  email: z.string().nullable(),
  /** Turned off by the link at the end of a mail, or here; urgent mail comes all the same. */
  reminderMail: z.boolean(),
  /** The address to which mail no longer arrives; null: nothing came back. */
  refusedAddress: z.string().nullable(),
  refusedReason: z.string().nullable(),
  unwantedKinds: z.array(digestKindSchema),
  leadDays: z.number().int(),
  language: z.string(),
  units: unitsSchema,
  /** ISO weekday of the week's one digest; null: every working day. */
  digestWeekday: z.number().int().nullable(),
  /** 'HH:mm' of each warehouse's own clocks; null: as working hours begin. */
  digestTime: z.string().nullable(),
  quiet: z.object({ from: z.string(), to: z.string() }).nullable(),
  /** When the next digest can go, by the clocks of each warehouse; null: not in the coming year. */
  next: z.array(
    z.object({
      warehouseId: z.string(),
      warehouseName: z.string(),
      zone: z.string(),
      at: z.string().nullable(),
      local: z.string().nullable(),
    }),
  ),
  version: z.number().int(),
})
export type MailPreferences = z.infer<typeof mailPreferencesSchema>

export const patchMailPreferencesRequestSchema = z.strictObject({
  reminderMail: z.boolean().optional(),
  /** The address works again: mail is sent there once more. */
  arrivesAgain: z.literal(true).optional(),
  unwantedKinds: z.array(digestKindSchema).max(10).optional(),
  leadDays: z.number().int().min(0).max(120).optional(),
  language: z.enum(['en', 'de']).optional(),
  units: unitsSchema.optional(),
  digestWeekday: z.number().int().min(1).max(7).nullable().optional(),
  digestTime: timeOfDaySchema.nullable().optional(),
  quiet: z
    .strictObject({ from: timeOfDaySchema, to: timeOfDaySchema })
    .refine(({ from, to }) => from !== to, 'must begin and end at different times')
    .nullable()
    .optional(),
  version: versionSchema.optional(),
})

export const calendarFeedSchema = z.object({
  id: z.string(),
  warehouse: z.object({ id: z.string(), name: z.string() }),
  createdAt: z.string(),
  lastReadAt: z.string().nullable(),
})
/** The address is shown this once; afterwards nobody can read it again, only make another. */
export const newCalendarFeedSchema = calendarFeedSchema.extend({ url: z.string() })
export const createCalendarFeedRequestSchema = z.strictObject({ warehouseId: idSchema })
export const calendarFeedParamsSchema = z.strictObject({ feedId: idSchema })

/** A mail that a server could not deliver, as it reported (RFC 3464). */
export const bounceSchema = z.object({
  id: z.string(),
  person: z.object({ id: z.string(), name: z.string() }),
  messageId: z.string().nullable(),
  address: z.string(),
  kind: z.enum(['hard', 'soft']),
  statusCode: z.string(),
  diagnostic: z.string(),
  /** Nothing more went to the address because of it. */
  suppressed: z.boolean(),
  receivedAt: z.string(),
})
export const listBouncesQuerySchema = z.strictObject({ personId: idSchema.optional(), ...pageQueryShape })
