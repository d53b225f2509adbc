/** Work orders: drafted to looked over; what is typed on site comes as entries with ids made on the phone. */
import { z } from 'zod'
import {
  CAUTION_ACKNOWLEDGEMENTS,
  driveSchema,
  machineStatusSchema,
  mayOpenSchema,
  reachSchema,
  skillSchema,
  stepSchema,
  supplySchema,
  tapeSchema,
  waitingForSchema,
  workOrderStateSchema,
} from '../vocabulary.js'
import {
  idSchema,
  instantSchema,
  localDateSchema,
  nameSchema,
  noteSchema,
  pageQueryShape,
  queryFlagSchema,
  reasonSchema,
  severalOf,
  textSchema,
  versionSchema,
} from './common.js'
import { measurementSchema } from './machines.js'

const personSchema = z.object({ id: z.string(), name: z.string() })

export const workOrderSummarySchema = z.object({
  id: z.string(),
  number: z.number().int(),
  state: workOrderStateSchema,
  waitingFor: waitingForSchema.nullable(),
  machine: z.object({ id: z.string(), labelCode: z.string(), typeName: z.string(), status: machineStatusSchema }),
  warehouse: z.object({ id: z.string(), name: z.string() }),
  station: z.object({ id: z.string(), name: z.string(), line: z.string(), walkingOrder: z.number().int() }).nullable(),
  /** Disabled: can no longer sign in, so that somebody else must have the order. */
  technician: personSchema.extend({ disabled: z.boolean() }).nullable(),
  visitId: z.string().nullable(),
  plannedOn: z.string().nullable(),
  taskNames: z.array(z.string()),
  minutesPlanned: z.number(),
  /** Highest skill and furthest reach of its tasks. */
  skill: skillSchema,
  reach: reachSchema,
  dueOn: z.string().nullable(),
  late: z.boolean(),
  lastEntryAt: z.string().nullable(),
  version: z.number().int(),
})
export type WorkOrderSummary = z.infer<typeof workOrderSummarySchema>

export const cautionSchema = z.object({ key: z.string(), text: z.string(), core: z.boolean() })
export const sheetStepSchema = stepSchema.extend({
  given: z.object({ answer: z.union([z.string(), z.number(), z.boolean()]), at: z.string(), byName: z.string() }).nullable(),
})
export const sheetMeasurementSchema = z.object({
  key: z.string(),
  name: z.string(),
  unit: z.enum(['mm', 'count']),
  required: z.boolean(),
  plausibleFrom: z.number().nullable(),
  plausibleTo: z.number().nullable(),
  planLimit: z.number().nullable(),
  neverBelow: z.number().nullable(),
  /** Where the limits come from, in words. */
  limitsFrom: z.string(),
  given: z.array(measurementSchema),
})
export const sheetTaskSchema = z.object({
  id: z.string(),
  occurrenceId: z.string(),
  serviceTaskId: z.string(),
  taskKey: z.string(),
  name: z.string(),
  componentKey: z.string().nullable(),
  minutes: z.number(),
  skill: skillSchema,
  reach: reachSchema,
  safetyCheck: z.boolean(),
  atTheBench: z.boolean(),
  usesSolvent: z.boolean(),
  /** Fits a new component of its type when done: the old one's removal reason is asked. */
  replacesComponent: z.boolean(),
  why: z.string(),
  dueOn: z.string(),
  late: z.boolean(),
  occurrenceState: z.string(),
  cautions: z.array(z.string()),
  steps: z.array(sheetStepSchema),
  measurements: z.array(sheetMeasurementSchema),
  parts: z.array(z.object({ componentKey: z.string(), quantity: z.number().int() })),
  outcome: z.enum(['done', 'not_done']).nullable(),
  notDoneReason: z.string().nullable(),
})
export type SheetTask = z.infer<typeof sheetTaskSchema>

export const functionCheckResultSchema = z.object({
  tape: tapeSchema,
  roll: z.enum(['full', 'half', 'end', 'not_noted']),
  strips: z.array(z.object({ askedMm: z.number(), measuredMm: z.number() })),
  coversOn: z.boolean(),
  cordLookedAt: z.boolean(),
  wetStripTore: z.boolean().nullable(),
  /** null: the type states no tolerance, so lengths are noted and not judged. */
  withinTolerance: z.boolean().nullable(),
})
export const functionCheckSchema = z.object({
  kind: z.enum(['none', 'short', 'full']),
  /** Strips to be cut, in order. times: how many of that length. */
  asks: z.array(z.object({ askedMm: z.number(), times: z.number().int(), what: z.string() })),
  toleranceMm: z.number().nullable(),
  instructions: z.array(z.string()),
  /** What to look at when strips are out of tolerance, in order. */
  ifOutOfTolerance: z.array(z.string()),
  result: functionCheckResultSchema.extend({ at: z.string(), byName: z.string(), attempt: z.number().int() }).nullable(),
})
export const workOrderActionSchema = z.enum([
  'issue',
  'accept',
  'start',
  'wait',
  'resume',
  'hand_back',
  'finish',
  'look_over',
  'return',
  'cancel',
])
export const missingSchema = z.object({ code: z.string(), taskId: z.string().nullable(), text: z.string() })

export const workEntrySummarySchema = z.object({
  id: z.string(),
  kind: z.string(),
  personName: z.string().nullable(),
  madeAt: z.string(),
  receivedAt: z.string(),
  content: z.record(z.string(), z.unknown()),
  /** Of the part that was booked: the content holds its id. */
  partName: z.string().nullable(),
  outcome: z.enum(['applied', 'kept_as_evidence', 'conflict', 'refused']),
  outcomeReason: z.string().nullable(),
  /** Of a conflict: which side a person let count; null: nobody has yet. */
  settled: z.object({ at: z.string(), byName: z.string(), counts: z.enum(['first', 'second']), note: z.string() }).nullable(),
})
export const workOrderSheetSchema = workOrderSummarySchema.extend({
  machine: z.object({
    id: z.string(),
    labelCode: z.string(),
    typeName: z.string(),
    status: machineStatusSchema,
    serialNumber: z.string(),
    drive: driveSchema,
    supply: supplySchema,
    heater: z.boolean(),
    mayOpen: mayOpenSchema,
    serviceFirm: z.string(),
    serviceTelephone: z.string(),
    tape: tapeSchema,
    note: z.string(),
  }),
  cautions: z.array(cautionSchema),
  acknowledgement: z.string(),
  acknowledged: z.object({ at: z.string(), byName: z.string() }).nullable(),
  tasks: z.array(sheetTaskSchema),
  functionCheck: functionCheckSchema,
  partsUsed: z.array(z.object({ id: z.string(), partId: z.string(), partName: z.string(), quantity: z.number().int() })),
  partsThatFit: z.array(z.object({ partId: z.string(), name: z.string(), componentKey: z.string().nullable(), onHand: z.number().int() })),
  startedAt: z.string().nullable(),
  finishedAt: z.string().nullable(),
  minutesWorked: z.number().nullable(),
  taggedOut: z.boolean(),
  cancelReason: z.string().nullable(),
  note: z.string(),
  entries: z.array(workEntrySummarySchema),
  allowed: z.array(workOrderActionSchema),
  /** What still stands between here and 'done'; empty: it may be finished. */
  missing: z.array(missingSchema),
  hints: z.array(z.string()),
})
export type WorkOrderSheet = z.infer<typeof workOrderSheetSchema>

export const listWorkOrdersQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  machineId: idSchema.optional(),
  technicianId: idSchema.optional(),
  /** true: those of the person who asks. */
  mine: queryFlagSchema.optional(),
  visitId: idSchema.optional(),
  state: severalOf(['drafted', 'issued', 'accepted', 'under_way', 'waiting', 'done', 'looked_over', 'returned', 'cancelled']).optional(),
  ...pageQueryShape,
})
export const createWorkOrderRequestSchema = z.strictObject({
  id: idSchema.optional(),
  machineId: idSchema,
  occurrenceIds: z.array(idSchema).min(1).max(60),
  technicianId: idSchema.nullable().default(null),
  plannedOn: localDateSchema.nullable().default(null),
  visitId: idSchema.nullable().default(null),
  note: noteSchema.default(''),
  /** true: issued at once. */
  issue: z.boolean().default(false),
})
export type CreateWorkOrderRequest = z.input<typeof createWorkOrderRequestSchema>
export const patchWorkOrderRequestSchema = z.strictObject({
  technicianId: idSchema.nullable().optional(),
  plannedOn: localDateSchema.nullable().optional(),
  visitId: idSchema.nullable().optional(),
  note: noteSchema.optional(),
  version: versionSchema.optional(),
})
export type PatchWorkOrderRequest = z.input<typeof patchWorkOrderRequestSchema>
export const issueRequestSchema = z.strictObject({ technicianId: idSchema.optional(), plannedOn: localDateSchema.optional() })
export const lookOverRequestSchema = z.strictObject({ note: noteSchema.default('') })
/** struckOutTaskIds: 'done' tasks that the reviewer strikes out and so reopens. */
export const returnRequestSchema = z.strictObject({ reason: reasonSchema, struckOutTaskIds: z.array(idSchema).max(60).default([]) })
export const cancelRequestSchema = z.strictObject({ reason: reasonSchema })

const entryCommon = {
  /** Made on the phone; the same id twice is one entry. */
  id: idSchema,
  madeAt: instantSchema,
}
const taskId = { taskId: idSchema }
export const workEntrySchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('accept'), ...entryCommon }),
  z.strictObject({ kind: z.literal('acknowledge_cautions'), ...entryCommon, statement: z.enum(CAUTION_ACKNOWLEDGEMENTS) }),
  z.strictObject({ kind: z.literal('start'), ...entryCommon }),
  z.strictObject({ kind: z.literal('wait'), ...entryCommon, waitingFor: waitingForSchema, note: textSchema(1000).default('') }),
  z.strictObject({ kind: z.literal('resume'), ...entryCommon }),
  z.strictObject({
    kind: z.literal('answer_step'),
    ...entryCommon,
    ...taskId,
    stepKey: textSchema(61),
    answer: z.union([z.boolean(), z.number(), textSchema(2000)]),
  }),
  z.strictObject({
    kind: z.literal('measure'),
    ...entryCommon,
    ...taskId,
    measurementKey: textSchema(61),
    value: z.number().min(0).max(100_000),
    unit: z.enum(['mm', 'in', 'count']).default('mm'),
    /** As typed, kept beside the number. */
    enteredText: textSchema(40).default(''),
    whenTaken: z.enum(['as_found', 'as_left']).default('as_found'),
    /** The value that this order kept last for it was mistyped: this one counts instead. */
    instead: z.boolean().default(false),
  }),
  z.strictObject({
    kind: z.literal('use_part'),
    ...entryCommon,
    partId: idSchema,
    quantity: z.number().int().min(1).max(100),
    /** It was taken off the shelf, whatever the books say is there: it counts as used, and the desk is asked to count the shelf. */
    inHand: z.literal(true).optional(),
  }),
  /** What this order took and did not use goes back to the shelf it came from. */
  z.strictObject({ kind: z.literal('put_back_part'), ...entryCommon, partId: idSchema, quantity: z.number().int().min(1).max(100) }),
  z.strictObject({
    kind: z.literal('finding'),
    ...entryCommon,
    text: nameSchema(1000),
    taskKey: textSchema(61).optional(),
    withinDays: z.number().int().min(0).max(400).optional(),
    safety: z.boolean().default(false),
  }),
  z.strictObject({
    kind: z.literal('task_done'),
    ...entryCommon,
    ...taskId,
    /** Of the component that was taken out, where the task replaces one. */
    removalReason: z.enum(['worn', 'broken', 'planned', 'unknown']).optional(),
    /** Fit one that is in the books instead of a new one. */
    fittedComponentId: idSchema.optional(),
  }),
  z.strictObject({ kind: z.literal('task_not_done'), ...entryCommon, ...taskId, reason: nameSchema(500) }),
  /** While the order is under way: what could not be done is done after all, and what was closed by mistake is open again. */
  z.strictObject({ kind: z.literal('task_again'), ...entryCommon, ...taskId }),
  z.strictObject({
    kind: z.literal('function_check'),
    ...entryCommon,
    tape: tapeSchema,
    roll: z.enum(['full', 'half', 'end', 'not_noted']).default('not_noted'),
    strips: z.array(z.strictObject({ askedMm: z.number().gt(0).max(100_000), measuredMm: z.number().min(0).max(100_000) })).max(100),
    coversOn: z.boolean(),
    cordLookedAt: z.boolean(),
    wetStripTore: z.boolean().nullable().default(null),
  }),
  z.strictObject({ kind: z.literal('tag_out'), ...entryCommon, reason: nameSchema(500) }),
  z.strictObject({ kind: z.literal('note'), ...entryCommon, text: nameSchema(4000) }),
  /** 'Not trained for this': back to the manager, without blame. */
  z.strictObject({ kind: z.literal('hand_back'), ...entryCommon, reason: nameSchema(500) }),
  z.strictObject({ kind: z.literal('finish'), ...entryCommon, minutesWorked: z.number().min(0).max(10_000), note: noteSchema.default('') }),
])
export type WorkEntry = z.input<typeof workEntrySchema>
export type ParsedWorkEntry = z.output<typeof workEntrySchema>
export type WorkEntryKind = WorkEntry['kind']

/** A refused entry of the single route is a 422 problem instead; in the batch it is told here, and kept. */
export const workEntryOutcomeSchema = z.object({
  entryId: z.string(),
  outcome: z.enum(['applied', 'kept_as_evidence', 'conflict', 'refused']),
  /** true: this id was here before; the outcome is the one of then. */
  already: z.boolean(),
  code: z.string().nullable(),
  reason: z.string().nullable(),
})
export type WorkEntryOutcome = z.infer<typeof workEntryOutcomeSchema>
export const workEntryResponseSchema = workEntryOutcomeSchema.extend({ workOrder: workOrderSheetSchema })
/** An entry of many, of any form: each is checked by itself. */
export const workEntryOfManySchema = z.record(z.string(), z.unknown())
export const syncEntriesRequestSchema = z.strictObject({
  entries: z
    .array(z.strictObject({ workOrderId: idSchema, entry: workEntryOfManySchema }))
    .min(1)
    .max(500),
})
export type SyncEntriesRequest = z.input<typeof syncEntriesRequestSchema>
export const syncEntriesResponseSchema = z.object({ results: z.array(workEntryOutcomeSchema.extend({ index: z.number().int() })) })
export const workOrderParamsSchema = z.strictObject({ workOrderId: idSchema })

const sideSchema = z.object({ valueMm: z.number(), byName: z.string().nullable(), at: z.string() })
/** Two entries that disagree, nobody having said yet which counts. */
export const workConflictSchema = z.object({
  entryId: z.string(),
  workOrder: z.object({ id: z.string(), number: z.number().int() }),
  labelCode: z.string(),
  warehouse: z.object({ id: z.string(), name: z.string() }),
  what: z.string(),
  /** null: the first value counts no more. */
  first: sideSchema.nullable(),
  second: sideSchema,
})
export const listWorkConflictsQuerySchema = z.strictObject(pageQueryShape)
export type WorkConflict = z.infer<typeof workConflictSchema>
export const settleConflictRequestSchema = z.strictObject({ counts: z.enum(['first', 'second']), note: textSchema(500).default('') })
export const workConflictParamsSchema = z.strictObject({ workOrderId: idSchema, entryId: idSchema })
