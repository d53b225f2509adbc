/** A second factor by one-time codes, codes for when the phone is gone, and passkeys. Secrets are shown once. */
import { z } from 'zod'
import { idSchema, nameSchema } from './common.js'

/** Asked again before anything of these changes; left out by somebody who has no password and signed in a moment ago. */
const currentPassword = z.string().min(1).max(200).optional()
export const factorChangeRequestSchema = z.strictObject({ currentPassword })

export const passkeySchema = z.object({
  id: z.string(),
  name: z.string(),
  createdAt: z.string(),
  lastUsedAt: z.string().nullable(),
  /** Kept on the person's other devices too, by the maker of the device. */
  backedUp: z.boolean(),
})
export type Passkey = z.infer<typeof passkeySchema>

export const myFactorsSchema = z.object({
  codesSince: z.string().nullable(),
  recoveryCodesLeft: z.number().int(),
  passkeys: z.array(passkeySchema),
  /** The name under which passkeys of this installation work, and the address whose pages may ask for them. */
  passkeyHost: z.string(),
  passkeyOrigin: z.string(),
  hasPassword: z.boolean(),
})
export type MyFactors = z.infer<typeof myFactorsSchema>

export const begunCodesSchema = z.object({
  /** Base32, to type where the picture cannot be scanned. */
  secret: z.string(),
  uri: z.string(),
  /** The same as a picture: a data address of an SVG. */
  picture: z.string(),
})
/** Six digits; blanks as people write them are taken. */
const oneTimeCode = z
  .string()
  .max(20)
  .transform((text) => text.replace(/\s/g, ''))
  .pipe(z.string().regex(/^\d{6}$/, 'must have 6 digits'))
export const confirmCodesRequestSchema = z.strictObject({ code: oneTimeCode })
export const recoveryCodesSchema = z.object({ recoveryCodes: z.array(z.string()) })

const base64url = (longest: number) =>
  z
    .string()
    .min(1)
    .max(longest)
    .regex(/^[\w-]+=*$/, 'must be base64url')
const credential = {
  id: base64url(1400),
  rawId: base64url(1400),
  type: z.literal('public-key'),
  authenticatorAttachment: z.enum(['cross-platform', 'platform']).nullish(),
}

/** As the browser makes it; what more it says is passed over. */
export const newPasskeySchema = z.object({
  ...credential,
  response: z.object({
    clientDataJSON: base64url(4000),
    attestationObject: base64url(20_000),
    transports: z.array(z.string().max(30)).max(10).optional(),
  }),
})
export const passkeyAnswerSchema = z.object({
  ...credential,
  response: z.object({
    clientDataJSON: base64url(4000),
    authenticatorData: base64url(4000),
    signature: base64url(8000),
    userHandle: base64url(200).nullish(),
  }),
})
/** Handed to the browser as they are (W3C Web Authentication, options as JSON). */
export const passkeyOptionsSchema = z.object({ options: z.record(z.string(), z.unknown()) })
export const addPasskeyRequestSchema = z.strictObject({ name: nameSchema(60), credential: newPasskeySchema })
export const signInByPasskeyRequestSchema = z.strictObject({ credential: passkeyAnswerSchema })
export const passkeyParamsSchema = z.strictObject({ passkeyId: idSchema })
