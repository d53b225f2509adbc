/** What was seen at a machine beside the work asked for: it waits for a task, or for a person who deals with it. */
import { z } from 'zod'
import { idSchema, nameSchema, pageQueryShape, textSchema } from './common.js'

export const findingSchema = z.object({
  id: z.string(),
  foundOn: z.string(),
  foundByName: z.string().nullable(),
  dueOn: z.string().nullable(),
  withinDays: z.number().int().nullable(),
  text: z.string(),
  /** Somebody could be hurt by it. */
  safety: z.boolean(),
  /** The task that it waits for; null: a person says what becomes of it. */
  serviceTaskId: z.string().nullable(),
  taskName: z.string().nullable(),
  workOrder: z.object({ id: z.string(), number: z.number().int() }).nullable(),
  settledOn: z.string().nullable(),
  /** Where a person settled it, and no task: who, and what was done. */
  settledByName: z.string().nullable(),
  settledNote: z.string(),
})
export type Finding = z.infer<typeof findingSchema>
export const reportFindingRequestSchema = z.strictObject({
  id: idSchema.optional(),
  text: nameSchema(1000),
  /** The task that it asks for. */
  taskKey: textSchema(61).optional(),
  withinDays: z.number().int().min(0).max(400).optional(),
  safety: z.boolean().default(false),
})

export const waitingFindingSchema = findingSchema.extend({
  machine: z.object({ id: z.string(), labelCode: z.string() }),
  warehouse: z.object({ id: z.string(), name: z.string() }),
})
export const listFindingsQuerySchema = z.strictObject({ warehouseId: idSchema.optional(), ...pageQueryShape })
export const findingParamsSchema = z.strictObject({ findingId: idSchema })
/** What was done about it, in words. */
export const settleFindingRequestSchema = z.strictObject({ note: nameSchema(1000) })
export const giveFindingRequestSchema = z.strictObject({
  /** A task of the machine's type. */
  serviceTaskId: idSchema,
  /** Days from today; left out: as the task's plan has it. */
  withinDays: z.number().int().min(0).max(400).optional(),
})
