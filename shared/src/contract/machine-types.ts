/** Machine types of the user's own making, their component types and service plans. */
import { z } from 'zod'
import {
  counterKindSchema,
  driveSchema,
  planMeasurementSchema,
  planPartSchema,
  reachSchema,
  skillSchema,
  stepSchema,
  supplySchema,
  triggerSchema,
} from '../vocabulary.js'
import { idSchema, localDateSchema, nameSchema, noteSchema, textSchema, versionSchema } from './common.js'
import { movedDatesShape } from './moved-dates.js'

const keySchema = z.string().regex(/^[a-z][a-z0-9_]{1,60}$/, 'must be lower case letters, digits and _')

export const componentTypeSchema = z.object({ id: z.string(), key: z.string(), name: z.string() })
export type ComponentType = z.infer<typeof componentTypeSchema>
export const createComponentTypeRequestSchema = z.strictObject({ key: keySchema, name: nameSchema(200) })
export const patchComponentTypeRequestSchema = z.strictObject({ name: nameSchema(200) })

export const assumedFactSchema = z.enum(['supply', 'heater'])
const lengthMm = z.number().gt(0).max(100_000)
const machineTypeFields = {
  name: nameSchema(200),
  drive: driveSchema,
  supply: supplySchema,
  heater: z.boolean(),
  feltBehindCover: z.boolean(),
  shortestStripMm: lengthMm,
  longestStripMm: lengthMm,
  lengthKeysMm: z.array(lengthMm).max(50),
  freeLength: z.boolean(),
  meanStripMm: lengthMm.nullable(),
  tapeWidthMm: lengthMm.nullable(),
  feedSpeedMPerMin: z.number().gt(0).max(1000).nullable(),
  startUpSecondsPerStrip: z.number().min(0).max(600).nullable(),
  mostStripsPerMinute: z.number().gt(0).max(1000).nullable(),
  counterKind: counterKindSchema,
  counterModulus: z.number().gt(0).max(1e15).nullable(),
  usualStripsPerDay: z.number().min(0).max(1_000_000).nullable(),
  brushNewMm: lengthMm.nullable(),
  brushPlanLimitMm: lengthMm.nullable(),
  brushNeverBelowMm: lengthMm.nullable(),
  stripsFromNewToPlanLimit: z.number().gt(0).max(1e12).nullable(),
  stripToleranceMm: lengthMm.nullable(),
  bladeLifeUnit: z.enum(['years', 'strips']),
  /** Facts that nobody knows yet: the stricter one is taken until somebody says. */
  assumed: z.array(assumedFactSchema).max(2),
}
const longestNotBelowShortest = { message: 'must not be below the shortest strip', path: ['longestStripMm'] }
export const createMachineTypeRequestSchema = z
  .strictObject(machineTypeFields)
  .partial()
  .required({ name: true, drive: true, supply: true, heater: true, shortestStripMm: true, longestStripMm: true })
  .extend({
    id: idSchema.optional(),
    /** Left out: those that the drive, supply and heater imply. */
    componentKeys: z.array(keySchema).max(60).optional(),
    /** default: the plan of the product, for this drive, becomes version 1. */
    plan: z.enum(['default', 'none']).default('default'),
  })
  .refine((type) => type.longestStripMm >= type.shortestStripMm, longestNotBelowShortest)
export type CreateMachineTypeRequest = z.input<typeof createMachineTypeRequestSchema>
export const patchMachineTypeRequestSchema = z
  .strictObject(machineTypeFields)
  .partial()
  .extend({ componentKeys: z.array(keySchema).max(60).optional(), version: versionSchema.optional() })
export type PatchMachineTypeRequest = z.input<typeof patchMachineTypeRequestSchema>

export const machineTypeSchema = z.object({
  id: z.string(),
  name: z.string(),
  drive: driveSchema,
  supply: supplySchema,
  heater: z.boolean(),
  feltBehindCover: z.boolean(),
  shortestStripMm: z.number(),
  longestStripMm: z.number(),
  lengthKeysMm: z.array(z.number()),
  freeLength: z.boolean(),
  meanStripMm: z.number().nullable(),
  tapeWidthMm: z.number().nullable(),
  feedSpeedMPerMin: z.number().nullable(),
  startUpSecondsPerStrip: z.number().nullable(),
  mostStripsPerMinute: z.number().nullable(),
  counterKind: counterKindSchema,
  counterModulus: z.number().nullable(),
  usualStripsPerDay: z.number().nullable(),
  brushNewMm: z.number().nullable(),
  brushPlanLimitMm: z.number().nullable(),
  brushNeverBelowMm: z.number().nullable(),
  stripsFromNewToPlanLimit: z.number().nullable(),
  stripToleranceMm: z.number().nullable(),
  bladeLifeUnit: z.enum(['years', 'strips']),
  assumed: z.array(assumedFactSchema),
  componentTypes: z.array(componentTypeSchema),
  machineCount: z.number().int(),
  currentPlanId: z.string().nullable(),
  currentPlanVersion: z.number().int().nullable(),
  version: z.number().int(),
})
export type MachineType = z.infer<typeof machineTypeSchema>

export const planTaskSchema = z.object({
  planTaskId: z.string(),
  serviceTaskId: z.string(),
  key: z.string(),
  position: z.number().int(),
  name: z.string(),
  componentKey: z.string().nullable(),
  minutes: z.number(),
  skill: skillSchema,
  reach: reachSchema,
  atTheBench: z.boolean(),
  safetyCheck: z.boolean(),
  usesSolvent: z.boolean(),
  overrunCounts: z.boolean(),
  triggers: z.array(triggerSchema),
  steps: z.array(stepSchema),
  measurements: z.array(planMeasurementSchema),
  cautions: z.array(z.string()),
  parts: z.array(planPartSchema),
})
export type ServicePlanTask = z.infer<typeof planTaskSchema>

export const servicePlanSummarySchema = z.object({
  id: z.string(),
  machineTypeId: z.string(),
  machineTypeName: z.string(),
  planVersion: z.number().int(),
  validFrom: z.string(),
  note: z.string(),
  createdByName: z.string().nullable(),
  createdAt: z.string(),
  taskCount: z.number().int(),
  current: z.boolean(),
})
export const servicePlanSchema = servicePlanSummarySchema.extend({ tasks: z.array(planTaskSchema) })
export type ServicePlan = z.infer<typeof servicePlanSchema>

export const planTaskRequestSchema = z.strictObject({
  /** A task that keeps its key keeps its id, and with it its clocks. */
  key: keySchema,
  name: nameSchema(200),
  componentKey: keySchema.nullable().default(null),
  minutes: z.number().gt(0).max(2000),
  skill: skillSchema,
  reach: reachSchema,
  atTheBench: z.boolean().default(false),
  safetyCheck: z.boolean().default(false),
  usesSolvent: z.boolean().default(false),
  overrunCounts: z.boolean().default(false),
  triggers: z.array(triggerSchema).min(1).max(12),
  steps: z.array(stepSchema).max(60).default([]),
  measurements: z.array(planMeasurementSchema).max(20).default([]),
  cautions: z.array(textSchema(500)).max(20).default([]),
  parts: z.array(planPartSchema).max(20).default([]),
})
export const createServicePlanRequestSchema = z
  .strictObject({
    validFrom: localDateSchema.optional(),
    /** The version that it was written from: refused where a later one holds by now. Left out: it takes the place of whichever holds. */
    afterVersion: z.int().min(1).optional(),
    note: noteSchema.default(''),
    tasks: z.array(planTaskRequestSchema).min(1).max(100),
  })
  .refine((plan) => new Set(plan.tasks.map((task) => task.key)).size === plan.tasks.length, {
    message: 'has two tasks with one key',
    path: ['tasks'],
  })
export type CreateServicePlanRequest = z.input<typeof createServicePlanRequestSchema>

/** What a new version would do, before it is saved: computed by the planner itself, nothing kept. */
export const planPreviewSchema = z.object({
  machineCount: z.number().int(),
  /** Fewer than machineCount where a type has very many machines. */
  machinesComputed: z.number().int(),
  tasks: z.array(
    z.object({
      key: z.string(),
      name: z.string(),
      change: z.enum(['new', 'gone', 'triggers', 'content', 'same']),
      /** What happens to dates and to the life used so far (rule 19). */
      sentences: z.array(z.string()),
      earlierCount: z.number().int(),
      laterCount: z.number().int(),
      sameCount: z.number().int(),
      /** Of those that move, by the middle one; negative is earlier. */
      medianDays: z.number().nullable(),
    }),
  ),
  ...movedDatesShape,
})
export type PlanPreview = z.infer<typeof planPreviewSchema>

export const componentTypeParamsSchema = z.strictObject({ componentTypeId: idSchema })
export const machineTypeParamsSchema = z.strictObject({ machineTypeId: idSchema })
export const servicePlanParamsSchema = z.strictObject({ servicePlanId: idSchema })
