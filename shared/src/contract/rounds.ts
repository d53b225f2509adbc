/** Rounds of small outside care: one line a machine, in walking order, one answer a line; and visits. */
import { z } from 'zod'
import { reachSchema, roundReasonSchema } from '../vocabulary.js'
import { idSchema, instantSchema, localDateSchema, monthSchema, noteSchema, pageQueryShape, versionSchema } from './common.js'
import { cautionSchema, workOrderSummarySchema } from './work-orders.js'

export const roundAnswerSchema = z.object({
  entryId: z.string(),
  outcome: z.enum(['done', 'not_done']),
  reason: roundReasonSchema.nullable(),
  personName: z.string(),
  madeAt: z.string(),
  canUndo: z.boolean(),
})
export const roundLineSchema = z.object({
  machineId: z.string(),
  labelCode: z.string(),
  typeName: z.string(),
  stationName: z.string().nullable(),
  line: z.string(),
  walkingOrder: z.number().int(),
  /** The caution of this line. */
  caution: z.string(),
  tasks: z.array(
    z.object({
      occurrenceId: z.string(),
      taskKey: z.string(),
      taskName: z.string(),
      minutes: z.number(),
      safetyCheck: z.boolean(),
      reach: reachSchema,
      state: z.enum(['open', 'done', 'skipped', 'superseded']),
    }),
  ),
  minutes: z.number(),
  /** The person who asks was shown this care on this type, or is a technician. */
  mayDo: z.boolean(),
  /** null: nothing is ticked beforehand. */
  answer: roundAnswerSchema.nullable(),
})
export const roundSchema = z.object({
  warehouse: z.object({ id: z.string(), name: z.string(), zone: z.string() }),
  month: z.string(),
  today: z.string(),
  personName: z.string(),
  cautions: z.array(cautionSchema),
  acknowledgement: z.string(),
  acknowledged: z.object({ at: z.string() }).nullable(),
  lines: z.array(roundLineSchema),
  doneCount: z.number().int(),
  openCount: z.number().int(),
})
export type Round = z.infer<typeof roundSchema>
export type RoundLine = z.infer<typeof roundLineSchema>

export const ROUND_ACKNOWLEDGEMENT = 'I have read this. I open nothing and reach into nothing.'
export const roundQuerySchema = z.strictObject({ warehouseId: idSchema, month: monthSchema.optional() })
const roundAnswerFields = {
  /** Made on the phone; the same id twice is one answer. */
  entryId: idSchema,
  machineId: idSchema,
  outcome: z.enum(['done', 'not_done']),
  reason: roundReasonSchema.optional(),
  /** Left out: all open ones of the line. */
  occurrenceIds: z.array(idSchema).min(1).max(30).optional(),
  madeAt: instantSchema,
}
const reasonRule = { message: 'is asked for, for what was not done, and only then', path: ['reason'] }
export const answerRoundRequestSchema = z
  .strictObject({ warehouseId: idSchema, month: monthSchema, ...roundAnswerFields })
  .refine((answer) => (answer.outcome === 'not_done') === (answer.reason !== undefined), reasonRule)
export type AnswerRoundRequest = z.input<typeof answerRoundRequestSchema>
export const answerLinkedRoundRequestSchema = z
  .strictObject(roundAnswerFields)
  .refine((answer) => (answer.outcome === 'not_done') === (answer.reason !== undefined), reasonRule)
export const acknowledgeRoundRequestSchema = z.strictObject({
  entryId: idSchema,
  warehouseId: idSchema,
  month: monthSchema,
  statement: z.literal(ROUND_ACKNOWLEDGEMENT),
})
export const acknowledgeLinkedRoundRequestSchema = z.strictObject({ entryId: idSchema, statement: z.literal(ROUND_ACKNOWLEDGEMENT) })
export const roundAnswerResponseSchema = z.object({
  entryId: z.string(),
  outcome: z.enum(['applied', 'kept_as_evidence', 'already']),
  reason: z.string().nullable(),
  line: roundLineSchema,
})
export const roundEntryParamsSchema = z.strictObject({ entryId: idSchema })
export const createRoundLinkRequestSchema = z.strictObject({ warehouseId: idSchema, month: monthSchema, personId: idSchema })
/** The secret stands after '#', so that it reaches no server log. */
export const roundLinkSchema = z.object({ url: z.string(), expiresAt: z.string() })
/** Header that carries the secret of a mail link on the linked-round routes. */
export const ROUND_LINK_HEADER = 'x-round-link'
/** Beside a route that says visitLink: a visiting technician's secret. */
export const VISIT_LINK_HEADER = 'x-visit-link'
export const visitLinkSchema = z.object({ url: z.string(), expiresAt: z.string() })

export const visitSchema = z.object({
  id: z.string(),
  warehouse: z.object({ id: z.string(), name: z.string() }),
  technician: z.object({ id: z.string(), name: z.string() }).nullable(),
  visitOn: z.string(),
  note: z.string(),
  workOrderCount: z.number().int(),
  minutesPlanned: z.number(),
  version: z.number().int(),
})
export type Visit = z.infer<typeof visitSchema>
export const visitDetailSchema = visitSchema.extend({ workOrders: z.array(workOrderSummarySchema) })
export const createVisitRequestSchema = z.strictObject({
  id: idSchema.optional(),
  warehouseId: idSchema,
  technicianId: idSchema.nullable().default(null),
  visitOn: localDateSchema,
  note: noteSchema.default(''),
  workOrderIds: z.array(idSchema).max(200).default([]),
})
export const patchVisitRequestSchema = z.strictObject({
  technicianId: idSchema.nullable().optional(),
  visitOn: localDateSchema.optional(),
  note: noteSchema.optional(),
  workOrderIds: z.array(idSchema).max(200).optional(),
  version: versionSchema.optional(),
})
export const listVisitsQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  technicianId: idSchema.optional(),
  from: localDateSchema.optional(),
  to: localDateSchema.optional(),
  ...pageQueryShape,
})
export const visitParamsSchema = z.strictObject({ visitId: idSchema })
