/** Sign-in by an organisation's own provider (OpenID Connect). */
import { z } from 'zod'
import { textSchema } from './common.js'

export const signInWaySchema = z.object({ key: z.string(), name: z.string() })
export const signInWayParamsSchema = z.strictObject({ signInKey: textSchema(60).min(1) })
export const begunSignInSchema = z.object({ url: z.string() })
/** Everything after '?' of the address to which the provider sent the browser back. */
export const finishSignInRequestSchema = z.strictObject({ search: textSchema(4000).min(1) })
