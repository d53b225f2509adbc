/** How good the organisation's own dates have been: what was foretold at a reset, and on which day it came true. */
import { z } from 'zod'
import { idSchema, pageOf, pageQueryShape } from './common.js'
import { estimateSchema } from './stoppages.js'

/** Kinds of trigger whose true day the evidence shows; a purely calendar date is exact and says nothing of the forecast. */
export const scoredTriggerSchema = z.enum(['usage', 'wear', 'life'])
export type ScoredTriggerKind = z.infer<typeof scoredTriggerSchema>

const scope = { warehouseId: idSchema.optional(), machineTypeId: idSchema.optional() }
export const dateScoresQuerySchema = z.strictObject(scope)

export const dateScoreSchema = z.object({
  trigger: scoredTriggerSchema,
  /** Between early and late: wanted 80 %; below early and above late: wanted 10 % each. */
  between: estimateSchema,
  belowEarly: estimateSchema,
  aboveLate: estimateSchema,
  /** Median of true day − likely day; positive: it came later than said. */
  medianDaysLate: z.number().nullable(),
  /** Median width between early and late, days. */
  medianWidthDays: z.number().nullable(),
})
export const dateScoresSchema = z.object({
  sentences: z.array(z.string()),
  scores: z.array(dateScoreSchema),
  /** Warehouses' last local day on which this was worked out; null: never yet. */
  workedOutOn: z.string().nullable(),
})
export type DateScores = z.infer<typeof dateScoresSchema>

export const scoredDatesQuerySchema = z.strictObject({ ...scope, trigger: scoredTriggerSchema.optional(), ...pageQueryShape })
export const scoredDateSchema = z.object({
  machine: z.object({ id: z.string(), labelCode: z.string() }),
  taskName: z.string(),
  trigger: scoredTriggerSchema,
  doneOn: z.string(),
  earlyOn: z.string(),
  likelyOn: z.string().nullable(),
  lateOn: z.string().nullable(),
  trueOn: z.string(),
  place: z.enum(['before_early', 'between', 'after_late']),
})
export const scoredDatesSchema = pageOf(scoredDateSchema)
export type ScoredDate = z.infer<typeof scoredDateSchema>
