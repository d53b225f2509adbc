/** Evidence of use: given as known, kept as given; what cannot be true is set aside with its reason. */
import { z } from 'zod'
import { evidenceKindSchema, evidenceStateSchema, monthlyTapSchema } from '../vocabulary.js'
import { idSchema, instantSchema, localDateSchema, monthSchema, pageQueryShape, reasonSchema, severalOf, textSchema } from './common.js'
import { labelCodeSchema } from './machines.js'

const amount = z.number().min(0, 'must not be negative').max(1e12)
/** id: made by the sender, so that a repeat is the same. source + externalId: 'the same evidence twice' is decided by them. */
const common = { id: idSchema.optional(), externalId: textSchema(200).min(1).optional() }
const ofMachine = { machineId: idSchema.optional(), labelCode: labelCodeSchema.optional() }

export const evidenceItemSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('counter_reading'), ...common, ...ofMachine, at: instantSchema, value: amount }),
  z.strictObject({
    kind: z.literal('counter_replaced'),
    ...common,
    ...ofMachine,
    at: instantSchema,
    firstReading: amount,
    lastReading: amount.optional(),
  }),
  z.strictObject({ kind: z.literal('strips_day'), ...common, ...ofMachine, day: localDateSchema, strips: amount }),
  z.strictObject({ kind: z.literal('cartons_day'), ...common, stationId: idSchema, day: localDateSchema, cartons: amount }),
  z.strictObject({
    kind: z.literal('rolls'),
    ...common,
    ...ofMachine,
    stationId: idSchema.optional(),
    fromDate: localDateSchema,
    toDate: localDateSchema,
    rolls: amount,
    rollMetres: z.number().gt(0).max(10_000),
  }),
  z.strictObject({ kind: z.literal('monthly_tap'), ...common, ...ofMachine, month: monthSchema, runs: monthlyTapSchema }),
])
export type EvidenceItem = z.input<typeof evidenceItemSchema>
export type ParsedEvidenceItem = z.output<typeof evidenceItemSchema>

export const evidenceOutcomeSchema = z.object({
  id: z.string().nullable(),
  /** duplicate: the same was here before, and id names it. refused: its form is wrong (bulk only). */
  outcome: z.enum(['counted', 'set_aside', 'duplicate', 'refused']),
  code: z.string().nullable(),
  reason: z.string().nullable(),
})
export type EvidenceOutcome = z.infer<typeof evidenceOutcomeSchema>

/** An item of many, of any form: each is checked by itself, so that a bad one is refused or set aside and stops nothing else. */
export const evidenceItemOfManySchema = z.record(z.string(), z.unknown())
export const bulkEvidenceRequestSchema = z.strictObject({
  source: textSchema(60).min(1),
  /** Where an item that names no machine we know is set aside. */
  warehouseId: idSchema,
  items: z.array(evidenceItemOfManySchema).min(1).max(5000),
})
export type BulkEvidenceRequest = z.input<typeof bulkEvidenceRequestSchema>
export const bulkEvidenceResponseSchema = z.object({
  counted: z.number().int(),
  setAside: z.number().int(),
  duplicates: z.number().int(),
  refused: z.number().int(),
  results: z.array(
    evidenceOutcomeSchema.extend({
      index: z.number().int(),
      errors: z.array(z.object({ pointer: z.string(), message: z.string() })).optional(),
    }),
  ),
})

export const evidenceSchema = z.object({
  id: z.string(),
  kind: evidenceKindSchema,
  warehouseId: z.string(),
  machine: z.object({ id: z.string(), labelCode: z.string() }).nullable(),
  station: z.object({ id: z.string(), name: z.string() }).nullable(),
  at: z.string().nullable(),
  fromDate: z.string(),
  toDate: z.string(),
  amount: z.number().nullable(),
  /** Kind's own facts: rollMetres, runs, lastReading; or the item as it came, where it could not be read. */
  detail: z.record(z.string(), z.unknown()),
  source: z.string(),
  externalId: z.string().nullable(),
  personName: z.string().nullable(),
  state: evidenceStateSchema,
  setAsideCode: z.string().nullable(),
  setAsideReason: z.string().nullable(),
  correctsId: z.string().nullable(),
  createdAt: z.string(),
})
export type Evidence = z.infer<typeof evidenceSchema>

export const listEvidenceQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  machineId: idSchema.optional(),
  state: severalOf(['counted', 'set_aside', 'dismissed', 'corrected']).optional(),
  kind: evidenceKindSchema.optional(),
  ...pageQueryShape,
})
/** The wrong one stays in the books as corrected; this takes its place. */
export const correctEvidenceRequestSchema = z.strictObject({ replacement: evidenceItemSchema, reason: reasonSchema })
export type CorrectEvidenceRequest = z.input<typeof correctEvidenceRequestSchema>
export const dismissEvidenceRequestSchema = z.strictObject({ reason: reasonSchema })
export const evidenceParamsSchema = z.strictObject({ evidenceId: idSchema })
