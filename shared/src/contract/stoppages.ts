/** Stoppages with their moments, and the review that is made from them. */
import { z } from 'zod'
import { idSchema, instantSchema, localDateSchema, pageQueryShape, queryFlagSchema, textSchema, versionSchema } from './common.js'

/** What is wrong, in the floor's words. */
export const failureModeSchema = z.enum([
  'unknown',
  'no_feed',
  'jammed',
  'cuts_badly',
  'does_not_stick',
  'wrong_length',
  'no_heat',
  'no_water',
  'dead',
  'smell_or_smoke',
  'noise',
  'damaged',
  'other',
])
export const stoppageCauseSchema = z.enum([
  'unknown',
  'wear',
  'missed_care',
  'dried_glue',
  'wrong_tape',
  'damp_tape',
  'foreign_body',
  'broken_part',
  'electrical',
  'knock_or_fall',
  'planned_work',
  'other',
])
export const noticedHowSchema = z.enum(['unknown', 'packer', 'technician', 'manager', 'other_system'])
export type FailureMode = z.infer<typeof failureModeSchema>
export type StoppageCause = z.infer<typeof stoppageCauseSchema>
export type NoticedHow = z.infer<typeof noticedHowSchema>
export const waitReasonSchema = z.enum(['decision', 'part', 'access', 'second_person', 'technician_travel', 'other'])
export const waitSchema = z.strictObject({ reason: waitReasonSchema, fromAt: instantSchema, toAt: instantSchema.nullable() })

const moments = {
  failedAt: instantSchema,
  noticedAt: instantSchema.nullable(),
  reportedAt: instantSchema.nullable(),
  workBegunAt: instantSchema.nullable(),
  repairedAt: instantSchema.nullable(),
  checkedAt: instantSchema.nullable(),
  backInUseAt: instantSchema.nullable(),
}
const facts = {
  planned: z.boolean(),
  failureMode: failureModeSchema,
  componentKey: z
    .string()
    .regex(/^[a-z][a-z0-9_]{1,60}$/)
    .nullable(),
  cause: stoppageCauseSchema,
  noticedHow: noticedHowSchema,
  note: textSchema(4000),
  waits: z.array(waitSchema).max(50),
}
export const reportStoppageRequestSchema = z
  .strictObject({ ...moments, ...facts })
  .partial()
  .extend({ id: idSchema.optional(), machineId: idSchema, reportedBy: textSchema(200).optional() })
export type ReportStoppageRequest = z.input<typeof reportStoppageRequestSchema>
export const patchStoppageRequestSchema = z
  .strictObject({ ...moments, ...facts })
  .partial()
  .extend({ version: versionSchema.optional(), reportedBy: textSchema(200).optional() })
export type PatchStoppageRequest = z.input<typeof patchStoppageRequestSchema>
export const closeStoppageRequestSchema = z.strictObject({
  /** Left out: now. */
  backInUseAt: instantSchema.optional(),
  cause: stoppageCauseSchema.optional(),
  note: textSchema(4000).optional(),
})

export const durationsSchema = z.object({
  totalHours: z.number(),
  withinShiftsHours: z.number().nullable(),
  detectionHours: z.number(),
  administrativeHours: z.number(),
  logisticHours: z.number(),
  technicalHours: z.number(),
  activeHours: z.number(),
})
export const stoppageSchema = z.object({
  id: z.string(),
  machine: z.object({ id: z.string(), labelCode: z.string(), typeName: z.string() }),
  warehouse: z.object({ id: z.string(), name: z.string(), zone: z.string() }),
  station: z.object({ id: z.string(), name: z.string() }).nullable(),
  planned: z.boolean(),
  failedAt: z.string(),
  noticedAt: z.string().nullable(),
  reportedAt: z.string().nullable(),
  workBegunAt: z.string().nullable(),
  repairedAt: z.string().nullable(),
  checkedAt: z.string().nullable(),
  backInUseAt: z.string().nullable(),
  waits: z.array(z.object({ reason: z.string(), fromAt: z.string(), toAt: z.string().nullable() })),
  failureMode: z.string(),
  componentKey: z.string().nullable(),
  cause: z.string(),
  noticedHow: z.string(),
  reportedBy: z.string(),
  workOrder: z.object({ id: z.string(), number: z.number().int() }).nullable(),
  note: z.string(),
  /** Up to now where it is still open. */
  durations: durationsSchema,
  open: z.boolean(),
  version: z.number().int(),
})
export type Stoppage = z.infer<typeof stoppageSchema>
export const stoppageSpanKindSchema = z.enum(['detection', 'administrative', 'logistic', 'technical', 'active'])
/** With where its hours went, one after the other; up to now where it is still open. */
export const oneStoppageSchema = stoppageSchema.extend({
  spans: z.array(z.object({ kind: stoppageSpanKindSchema, fromAt: z.string(), toAt: z.string() })),
})
export type OneStoppage = z.infer<typeof oneStoppageSchema>
export const listStoppagesQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  machineId: idSchema.optional(),
  machineTypeId: idSchema.optional(),
  /** Local days, both included: what stood still on any of them; with begun, what began on one of them. */
  from: localDateSchema.optional(),
  to: localDateSchema.optional(),
  begun: queryFlagSchema.optional(),
  open: queryFlagSchema.optional(),
  planned: queryFlagSchema.optional(),
  ...pageQueryShape,
})
export const stoppageParamsSchema = z.strictObject({ stoppageId: idSchema })

export const reviewQuerySchema = z
  .strictObject({
    /** Local days, both included. */
    from: localDateSchema,
    to: localDateSchema,
    warehouseId: idSchema.optional(),
    machineTypeId: idSchema.optional(),
    limit: z.coerce.number<number | string>().int().min(1).max(2000).default(500),
  })
  .refine((period) => period.to >= period.from, { message: 'must not lie before the first day', path: ['to'] })

/** A figure with its limits (95 %), or why there is none. */
export const estimateSchema = z.object({
  value: z.number().nullable(),
  low: z.number().nullable(),
  high: z.number().nullable(),
  n: z.number().int(),
  hiddenReason: z.string().nullable(),
})
export type Estimate = z.infer<typeof estimateSchema>
export const reviewMachineSchema = z.object({
  machineId: z.string(),
  labelCode: z.string(),
  typeName: z.string(),
  warehouseId: z.string(),
  warehouseName: z.string(),
  stationName: z.string().nullable(),
  stoppages: z.number().int(),
  planned: z.number().int(),
  unplanned: z.number().int(),
  hoursStopped: z.number(),
  hoursStoppedUnplanned: z.number(),
  hoursStoppedWithinShifts: z.number().nullable(),
  /** In service and in the period, calendar hours. */
  hoursObserved: z.number(),
  meanHoursBetweenStoppages: estimateSchema,
  meanHoursToBackInUse: estimateSchema,
  availability: z.number().nullable(),
  careInTime: estimateSchema,
  /** In the currency of its warehouse. */
  cost: z.number().nullable(),
  currency: z.string(),
  /** More unplanned stoppages than chance explains; a fleet of equal machines has one named in at most 5 % of reviews. */
  standsOut: z.boolean(),
  /** What its stoppages speak for; anything but keeping it only where it stands out. */
  advice: z.object({ advice: z.enum(['keep', 'care', 'lighter_station', 'overhaul', 'overhaul_or_replace']), sentence: z.string() }),
  sentence: z.string(),
})
export type ReviewMachine = z.infer<typeof reviewMachineSchema>
export const reviewRowsSchema = z.enum(['all', 'unplanned', 'unplanned_ended', 'care'])
export const reviewMeasureSchema = z.object({
  key: z.string(),
  name: z.string(),
  unit: z.string(),
  formula: z.string(),
  exclusions: z.string(),
  /** What it was made of, as many as n: stoppages begun in the period, of them those that ended, or care that ended in it. */
  rows: reviewRowsSchema,
  estimate: estimateSchema,
})
export const reviewSchema = z.object({
  from: z.string(),
  to: z.string(),
  sentences: z.array(z.string()),
  totals: z.object({
    machines: z.number().int(),
    stoppages: z.number().int(),
    planned: z.number().int(),
    unplanned: z.number().int(),
    hoursStopped: z.number(),
    hoursStoppedUnplanned: z.number(),
    cost: z.number().nullable(),
    currency: z.string().nullable(),
  }),
  split: durationsSchema,
  measures: z.array(reviewMeasureSchema),
  /** The worst first: hours stopped without a plan, then hours stopped, then label. */
  machines: z.array(reviewMachineSchema),
})
export type Review = z.infer<typeof reviewSchema>
