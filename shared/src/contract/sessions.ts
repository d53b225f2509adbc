/** Sign-in, own sessions, own settings. */
import { z } from 'zod'
import { roleSchema, unitsSchema } from '../vocabulary.js'
import { idSchema, localDateSchema, namedSchema, textSchema } from './common.js'

export const passwordSchema = z.string().min(10, 'must have at least 10 characters').max(200)

export const signInRequestSchema = z.strictObject({
  email: textSchema(254).min(3),
  password: z.string().min(1).max(200),
  /** A one-time code or a recovery code, where the first answer asked for one (SECOND_FACTOR_NEEDED). */
  code: textSchema(40).min(1).optional(),
})
export type SignInRequest = z.infer<typeof signInRequestSchema>

export const meSchema = z.object({
  person: z.object({
    id: z.string(),
    name: z.string(),
    email: z.string().nullable(),
    role: roleSchema,
    language: z.string(),
    units: unitsSchema,
    electricallyQualified: z.boolean(),
    leadDays: z.number().int(),
    /** Of the own short code for shared tablets; null: there is none. */
    shortCodeSetAt: z.string().nullable(),
  }),
  organisation: namedSchema,
  /** Those that this person may see; today is the local date there, by the server's clock. */
  warehouses: z.array(z.object({ id: z.string(), name: z.string(), zone: z.string(), today: z.string() })),
  /** Set for a visiting technician's link: the one visit that it opens. */
  visitId: z.string().nullable(),
  /** Set for a turn on a shared tablet. */
  tabletName: z.string().nullable(),
  serverTime: z.string(),
})
export type Me = z.infer<typeof meSchema>

export const patchMeRequestSchema = z.strictObject({
  language: z.enum(['en', 'de']).optional(),
  units: unitsSchema.optional(),
  leadDays: z.number().int().min(0).max(120).optional(),
})
export type PatchMeRequest = z.input<typeof patchMeRequestSchema>

export const changePasswordRequestSchema = z.strictObject({ currentPassword: z.string().min(1).max(200), newPassword: passwordSchema })
export type ChangePasswordRequest = z.infer<typeof changePasswordRequestSchema>

export const sessionSchema = z.object({
  id: z.string(),
  createdAt: z.string(),
  lastSeenAt: z.string(),
  /** Its end whatever happens. */
  expiresAt: z.string(),
  /** Its end where nobody uses it from now on. */
  unusedEndsAt: z.string(),
  userAgent: z.string(),
  current: z.boolean(),
})
export type Session = z.infer<typeof sessionSchema>

export const organisationSchema = z.object({ id: z.string(), name: z.string() })
export const sessionParamsSchema = z.strictObject({ sessionId: idSchema })
export const dayRangeSchema = z.object({ from: localDateSchema, to: localDateSchema })

export const resetRequestSchema = z.strictObject({ email: textSchema(254).min(3) })
export const invitationSchema = z.object({ expiresAt: z.string() })
const linkToken = textSchema(200).min(1)
export const accountLinkRequestSchema = z.strictObject({ token: linkToken })
export const accountLinkSchema = z.object({
  kind: z.enum(['invitation', 'reset']),
  personName: z.string(),
  email: z.string().nullable(),
  organisationName: z.string(),
})
export type AccountLinkShown = z.infer<typeof accountLinkSchema>
export const useAccountLinkRequestSchema = z.strictObject({ token: linkToken, newPassword: passwordSchema })
/** Of a route that answers a file. */
export const fileStreamSchema = z.unknown()
