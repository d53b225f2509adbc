/** Dates: forecasts that explain themselves, occurrences, and what falls due by week and warehouse. */
import { z } from 'zod'
import { forecastStateSchema, occurrenceKindSchema, occurrenceStateSchema, reachSchema, skillSchema } from '../vocabulary.js'
import { idSchema, localDateSchema, pageQueryShape, queryFlagSchema, reasonSchema, severalOf, textSchema } from './common.js'

/** Every stored number behind a date, as the pass wrote it. */
export const basisSchema = z.record(
  z.string(),
  z.union([z.string(), z.number(), z.boolean(), z.null(), z.array(z.union([z.string(), z.number()]))]),
)

export const forecastSchema = z.object({
  machineId: z.string(),
  serviceTaskId: z.string(),
  planTaskId: z.string(),
  taskKey: z.string(),
  taskName: z.string(),
  componentKey: z.string().nullable(),
  minutes: z.number(),
  skill: skillSchema,
  reach: reachSchema,
  safetyCheck: z.boolean(),
  state: forecastStateSchema,
  earlyOn: z.string().nullable(),
  likelyOn: z.string().nullable(),
  lateOn: z.string().nullable(),
  noLaterThan: z.string().nullable(),
  governingTrigger: z.string().nullable(),
  /** One sentence with its numbers: why this date. */
  why: z.string(),
  /** One sentence: how far it can be trusted. */
  trust: z.string(),
  basis: basisSchema,
  reason: z.string().nullable(),
  computedOn: z.string(),
  lastDoneOn: z.string().nullable(),
  openOccurrenceId: z.string().nullable(),
})
export type Forecast = z.infer<typeof forecastSchema>

export const occurrenceSchema = z.object({
  id: z.string(),
  machineId: z.string(),
  labelCode: z.string(),
  warehouseId: z.string(),
  serviceTaskId: z.string(),
  planTaskId: z.string(),
  taskKey: z.string(),
  taskName: z.string(),
  minutes: z.number(),
  skill: skillSchema,
  reach: reachSchema,
  safetyCheck: z.boolean(),
  sequence: z.number().int(),
  kind: occurrenceKindSchema,
  state: occurrenceStateSchema,
  openedOn: z.string(),
  nominalOn: z.string(),
  windowFrom: z.string(),
  windowTo: z.string(),
  hardLimitOn: z.string().nullable(),
  dueOn: z.string(),
  lateFrom: z.string().nullable(),
  /** By the warehouse's today. */
  late: z.boolean(),
  pastHardLimit: z.boolean(),
  /** A safety check past its day: not to be used until checked, or as the site's rules say. */
  doNotUse: z.boolean(),
  needsPerson: z.boolean(),
  governingTrigger: z.string(),
  why: z.string(),
  basis: basisSchema,
  saidOn: z.string().nullable(),
  endedOn: z.string().nullable(),
  endReason: z.string().nullable(),
  doneOn: z.string().nullable(),
  doneByName: z.string().nullable(),
  countedAsMissed: z.boolean(),
  workOrder: z.object({ id: z.string(), number: z.number().int(), state: z.string() }).nullable(),
  version: z.number().int(),
})
export type Occurrence = z.infer<typeof occurrenceSchema>

export const listOccurrencesQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  machineId: idSchema.optional(),
  state: severalOf(['open', 'done', 'skipped', 'superseded']).optional(),
  dueTo: localDateSchema.optional(),
  machineTypeId: idSchema.optional(),
  /** Local days, both included. */
  endedFrom: localDateSchema.optional(),
  endedTo: localDateSchema.optional(),
  /** true: done or counted as missed, as the measures of care count. */
  judged: queryFlagSchema.optional(),
  search: textSchema(100).optional(),
  ...pageQueryShape,
})
export const putOffRequestSchema = z.strictObject({
  until: localDateSchema,
  reason: reasonSchema,
  /** Only an administrator, and only past the hard limit. */
  newHardLimitOn: localDateSchema.optional(),
})
export type PutOffRequest = z.input<typeof putOffRequestSchema>
export const skipRequestSchema = z.strictObject({ reason: reasonSchema })
/** What skipping it now would lead to; nothing is kept. */
export const skipPreviewSchema = z.object({
  /** When the task would fall due next; null: no date can be said. */
  nextDueOn: z.string().nullable(),
  /** Why there is no date. */
  reason: z.string().nullable(),
  /** Orders that it comes off; one that is for nothing else is cancelled. */
  workOrders: z.array(z.object({ number: z.number().int(), cancelled: z.boolean() })),
})
export type SkipPreview = z.infer<typeof skipPreviewSchema>

export const occurrenceParamsSchema = z.strictObject({ occurrenceId: idSchema })

/** Load of one warehouse and week against the hours there are. */
export const weekLoadSchema = z.object({
  weekStart: z.string(),
  minutesBySkill: z.object({ instructed: z.number(), technician: z.number(), electrical: z.number() }),
  dueCount: z.number().int(),
  lateCount: z.number().int(),
  openDays: z.number().int(),
  shiftMinutes: z.number(),
  /** Minutes of technicians that there are on days still open for them; null: nobody has said how many hours a week. */
  technicianMinutes: z.number().nullable(),
  /** Technicians' care of the week that its hours do not hold. */
  doesNotFitCount: z.number().int(),
  doesNotFitMinutes: z.number(),
  closedDays: z.array(z.string()),
  peaks: z.array(z.object({ name: z.string(), bars: z.string(), usageMultiplier: z.number() })),
})
export const comingUpItemSchema = z.object({
  machineId: z.string(),
  labelCode: z.string(),
  machineTypeName: z.string(),
  warehouseId: z.string(),
  stationName: z.string().nullable(),
  line: z.string(),
  serviceTaskId: z.string(),
  taskKey: z.string(),
  taskName: z.string(),
  minutes: z.number(),
  skill: skillSchema,
  reach: reachSchema,
  safetyCheck: z.boolean(),
  state: forecastStateSchema,
  earlyOn: z.string().nullable(),
  likelyOn: z.string().nullable(),
  lateOn: z.string().nullable(),
  noLaterThan: z.string().nullable(),
  governingTrigger: z.string().nullable(),
  /** The occurrence's day once it is open, else the likely day; the week it is listed in. */
  dueOn: z.string().nullable(),
  windowTo: z.string().nullable(),
  hardLimitOn: z.string().nullable(),
  late: z.boolean(),
  doNotUse: z.boolean(),
  needsPerson: z.boolean(),
  /** false: the technicians' hours of its week do not hold it. */
  fits: z.boolean(),
  why: z.string(),
  occurrenceId: z.string().nullable(),
  occurrenceKind: occurrenceKindSchema.nullable(),
  workOrder: z.object({ id: z.string(), number: z.number().int(), state: z.string() }).nullable(),
})
export type ComingUpItem = z.infer<typeof comingUpItemSchema>

/** What a list of dues may be kept to. */
export const onlyDuesSchema = z.enum(['late', 'do_not_use', 'past_hard_limit', 'needs_person', 'does_not_fit'])
export const comingUpQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  from: localDateSchema.optional(),
  weeks: z.coerce.number<number | string>().int().min(1).max(53).default(8),
  skill: skillSchema.optional(),
  /** Part of a label code or of a task's name. */
  search: textSchema(100).optional(),
  /** Of what is not to be used, and of what finds no open day, small care of the month is listed as well. */
  only: onlyDuesSchema.optional(),
  /** Monthly small care is in the round; true lists it here too. */
  monthly: z.enum(['true', 'false']).default('false'),
  cursor: textSchema(500).optional(),
  limit: z.coerce.number<number | string>().int().min(1).max(500).default(200),
})
export const comingUpSchema = z.object({
  from: z.string(),
  to: z.string(),
  warehouses: z.array(z.object({ id: z.string(), name: z.string(), today: z.string(), weeks: z.array(weekLoadSchema) })),
  items: z.array(comingUpItemSchema),
  nextCursor: z.string().nullable(),
})
export type ComingUp = z.infer<typeof comingUpSchema>

/** The desk's first page: a few sentences a warehouse, and what waits for a decision. */
export const thisWeekSchema = z.object({
  warehouses: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      today: z.string(),
      /** kind names the list behind the number; the screen links it. */
      sentences: z.array(
        z.object({
          kind: z.enum([
            'do_not_use',
            'past_hard_limit',
            'late',
            'due_this_week',
            'monthly_care',
            'open_stoppages',
            'set_aside',
            'needs_person',
            'parts',
            'work_under_way',
            'nothing',
          ]),
          count: z.number().int(),
          text: z.string(),
        }),
      ),
      weeks: z.array(weekLoadSchema),
    }),
  ),
  waiting: z.object({
    setAside: z.number().int(),
    openStoppages: z.number().int(),
    needsPerson: z.number().int(),
    pastHardLimit: z.number().int(),
    conflicts: z.number().int(),
    /** Found on site, and no task answers it. */
    findings: z.number().int(),
    uncertainMessages: z.number().int(),
    toLookOver: z.number().int(),
    /** Given to somebody who can no longer sign in, or does not serve the warehouse. */
    ordersOfGone: z.number().int(),
  }),
})
export type ThisWeek = z.infer<typeof thisWeekSchema>
