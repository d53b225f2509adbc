/** What a scan of the label opens without an account: enough to report and no more. */
import { z } from 'zod'
import { counterKindSchema, monthlyTapSchema, supplySchema } from '../vocabulary.js'
import { idSchema } from './common.js'

export const packerWrongSchema = z.enum(['no_water', 'wrong_tape', 'jammed', 'cuts_badly', 'dead', 'smell_or_smoke'])
export const labelTokenParamsSchema = z.strictObject({ token: z.string().regex(/^[0-9A-HJKMNP-TV-Z]{12}$/) })
export const packerPageSchema = z.object({
  labelCode: z.string(),
  /** Line and station; null: at no station. */
  place: z.string().nullable(),
  supply: supplySchema,
  heater: z.boolean(),
  counterKind: counterKindSchema,
  /** Who looks after it; null: nobody is named. */
  contactName: z.string().nullable(),
  /** An open report, or somebody’s work; null: neither. What somebody has in hand ('held') no packer ends. */
  report: z.object({ what: z.string(), since: z.string(), held: z.enum(['worked_on', 'tagged_out']).nullable() }).nullable(),
  month: z.string(),
  monthlyTapGiven: z.boolean(),
  serverTime: z.string(),
})
export type PackerPage = z.infer<typeof packerPageSchema>
/** ids are made by the phone, so that a tap sent twice counts once. */
export const packerReportRequestSchema = z.strictObject({ id: idSchema, what: packerWrongSchema })
export const packerCounterRequestSchema = z.strictObject({ id: idSchema, value: z.number().min(0).max(1e12) })
export const packerTapRequestSchema = z.strictObject({ id: idSchema, runs: monthlyTapSchema })
