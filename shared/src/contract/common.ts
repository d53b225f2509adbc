/** Building blocks of the contract: ids, local dates, instants, text, pages. Requests are strict, so a mistyped key is told. */
import { z } from 'zod'

export const idSchema = z.uuid()

/** A local day of the warehouse, never an instant. */
export const localDateSchema = z.iso
  .date()
  .refine((text) => text >= '1900-01-01' && text <= '2200-12-31', 'must lie between 1900-01-01 and 2200-12-31')

/** RFC 3339; an offset other than Z is accepted in requests. Responses are always UTC. */
export const instantSchema = z.iso
  .datetime({ offset: true })
  .refine(
    (text) => !text.startsWith('0') && text.slice(0, 4) >= '1900' && text.slice(0, 4) <= '2200',
    'must lie between the years 1900 and 2200',
  )

export const monthSchema = z.string().regex(/^(19|20|21)\d{2}-(0[1-9]|1[0-2])$/, 'must be a month such as 2026-05')
export const timeOfDaySchema = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'must be a time such as 06:30')

/** Text without NUL, which PostgreSQL cannot keep. */
export function textSchema(longest: number) {
  return z
    .string()
    .max(longest)
    .refine((text) => !text.includes('\u0000'), 'must not contain the character U+0000')
}
export function nameSchema(longest: number) {
  return textSchema(longest).refine((text) => text.trim().length > 0, 'must not be empty')
}
export const noteSchema = textSchema(4000)
export const reasonSchema = nameSchema(1000)

function isKnownZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone })
    return /^[A-Z][A-Za-z0-9_+-]*(\/[A-Za-z0-9_+-]+)*$/.test(zone)
  } catch {
    return false
  }
}
/** An IANA time zone name such as Europe/Berlin; offsets such as +02:00 are refused. */
export const zoneSchema = z.string().max(64).refine(isKnownZone, 'is not a known IANA time zone, such as Europe/Berlin')

export const moneySchema = z.number().min(0).max(9_999_999_999)
export const countSchema = z.number().int().min(0).max(1_000_000_000)
export const versionSchema = z.number().int().min(1).max(2_147_483_647)

export const MAX_PAGE_LENGTH = 200
export const pageQueryShape = {
  /** Opaque; as given in the answer before. */
  cursor: textSchema(500).optional(),
  limit: z.coerce.number<number | string>().int().min(1).max(MAX_PAGE_LENGTH).default(50),
}
export const pageQuerySchema = z.strictObject(pageQueryShape)
export function pageOf<T extends z.ZodType>(item: T) {
  return z.object({ items: z.array(item), nextCursor: z.string().nullable() })
}
export function listOf<T extends z.ZodType>(item: T) {
  return z.object({ items: z.array(item) })
}

/** Several values in one query parameter, parted by commas. */
export function severalOf<const T extends readonly [string, ...string[]]>(values: T) {
  return z
    .string()
    .max(400)
    .transform((text) => text.split(','))
    .pipe(z.array(z.enum(values)).min(1))
}
export const queryFlagSchema = z.enum(['true', 'false']).transform((text) => text === 'true')

export const doneSchema = z.object({ done: z.literal(true) })
export type Done = z.infer<typeof doneSchema>

/** A thing named in passing: enough to show and to link. */
export const namedSchema = z.object({ id: z.string(), name: z.string() })
export type Named = z.infer<typeof namedSchema>

/** RFC 9457 problem document. code is stable; errors point into the body (RFC 6901) or name a parameter. */
export const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  detail: z.string(),
  instance: z.string(),
  code: z.string(),
  errors: z.array(z.object({ pointer: z.string(), message: z.string() })).optional(),
})
export type Problem = z.infer<typeof problemSchema>

/** Every request that changes something carries this header with the value 1: a form of a foreign page cannot. */
export const REQUEST_HEADER = 'x-tapewarden'
/** Carried by what an open page asks again by itself: nobody has used the session by it. */
export const BY_ITSELF_HEADER = 'x-tapewarden-by-itself'
