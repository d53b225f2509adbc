/** The first ten minutes: one form that makes a warehouse with its machines, and how far its first steps have come. */
import { z } from 'zod'
import { idSchema, nameSchema, textSchema, zoneSchema } from './common.js'
import { messageStateSchema } from '../vocabulary.js'

/** A town and the zone of its clocks. */
export const placeSchema = z.object({
  name: z.string(),
  region: z.string(),
  country: z.string(),
  zone: z.string(),
  /** A town of the very name that was asked for, in whatever language, or a country of that name with one zone. */
  asked: z.boolean(),
})
export const listPlacesQuerySchema = z.strictObject({ search: textSchema(100).default('') })

/** Somebody in the books, somebody new (administrators only), or null: not known yet. */
export const namedPersonSchema = z
  .union([z.strictObject({ personId: idSchema }), z.strictObject({ name: nameSchema(200), email: z.email().max(254) })])
  .nullable()

export const beginRequestSchema = z.strictObject({
  name: nameSchema(200),
  zone: zoneSchema,
  /** The town as it was chosen; becomes the address. */
  place: textSchema(200).default(''),
  /** null: not known; none is registered yet. */
  machineCount: z.number().int().min(1).max(500).nullable(),
  supply: z.enum(['cord_and_plug', 'wired_in', 'dont_know']),
  heater: z.enum(['yes', 'no', 'dont_know']),
  first: namedPersonSchema,
  second: namedPersonSchema,
})
export type BeginRequest = z.input<typeof beginRequestSchema>

export const testMailSchema = z.object({
  messageId: z.string(),
  personName: z.string(),
  address: z.string(),
  state: messageStateSchema,
  sentAt: z.string().nullable(),
  lastError: z.string().nullable(),
})

export const beginningSchema = z.object({
  warehouse: z.object({ id: z.string(), name: z.string(), zone: z.string(), today: z.string() }),
  machineIds: z.array(z.string()),
  /** Machines that stand at a named station. */
  atStation: z.number().int(),
  /** Machines that have a label which counts. */
  labelled: z.number().int(),
  first: z.object({ name: z.string(), email: z.string().nullable() }).nullable(),
  second: z.object({ name: z.string(), email: z.string().nullable() }).nullable(),
  /** The first walking list: first looks at small outside care, by the days on which they are asked for. */
  walk: z.object({ machines: z.number().int(), firstOn: z.string().nullable(), lastOn: z.string().nullable(), openNow: z.number().int() }),
  /** false: the dates of the newest change are still being worked out. */
  upToDate: z.boolean(),
  /** The newest one a person. */
  testMails: z.array(testMailSchema),
})
export type Beginning = z.infer<typeof beginningSchema>
