/** Parts and stock; messages and reminders; health. */
import { z } from 'zod'
import { messageClassSchema, messageStateSchema, reminderStageSchema } from '../vocabulary.js'
import { idSchema, moneySchema, nameSchema, pageQueryShape, severalOf, textSchema } from './common.js'

export const stockSchema = z.object({
  warehouseId: z.string(),
  warehouseName: z.string(),
  onHand: z.number().int(),
  reserved: z.number().int(),
  onOrder: z.number().int(),
  leadTimeDays: z.number().int(),
  /** By how many days a delivery comes earlier or later than that, usually (standard deviation). */
  leadTimeSpreadDays: z.number().int(),
})
export const partSchema = z.object({
  id: z.string(),
  name: z.string(),
  stockCode: z.string(),
  componentKey: z.string().nullable(),
  price: z.number().nullable(),
  /** false: nobody keeps it any more; it is neither offered nor ordered. */
  inBooks: z.boolean(),
  fits: z.array(z.object({ machineTypeId: z.string(), name: z.string() })),
  stock: z.array(stockSchema),
})
export type Part = z.infer<typeof partSchema>
const partFields = {
  name: nameSchema(200),
  stockCode: nameSchema(60),
  componentKey: z
    .string()
    .regex(/^[a-z][a-z0-9_]{1,60}$/)
    .nullable(),
  price: moneySchema.nullable(),
  fitsMachineTypeIds: z.array(idSchema).max(500),
}
export const createPartRequestSchema = z
  .strictObject(partFields)
  .partial()
  .required({ name: true, stockCode: true })
  .extend({ id: idSchema.optional() })
export const patchPartRequestSchema = z.strictObject({ ...partFields, inBooks: z.boolean() }).partial()
export const putStockRequestSchema = z.strictObject({
  onHand: z.number().int().min(0).max(1_000_000),
  onOrder: z.number().int().min(0).max(1_000_000).default(0),
  leadTimeDays: z.number().int().min(0).max(400),
  leadTimeSpreadDays: z.number().int().min(0).max(400).default(0),
})
export const listPartsQuerySchema = z.strictObject({
  /** Left out: those in the books. */
  inBooks: z.enum(['true', 'false']).default('true'),
  warehouseId: idSchema.optional(),
  search: textSchema(100).optional(),
  ...pageQueryShape,
})
export const partParamsSchema = z.strictObject({ partId: idSchema })
export const partStockParamsSchema = z.strictObject({ partId: idSchema, warehouseId: idSchema })

/** What the dates and the life of parts ask for: one entry a part and warehouse. */
export const partNeedSchema = z.object({
  partId: z.string().nullable(),
  partName: z.string(),
  stockCode: z.string().nullable(),
  componentKey: z.string(),
  warehouseId: z.string(),
  warehouseName: z.string(),
  /** Chance that nothing is missing, which `needed` and `orderBy` keep. */
  servicePercent: z.number().int(),
  /** Mean number of pieces within the days asked for. */
  expected: z.number(),
  /** Least pieces that suffice with the chance. */
  needed: z.number().int(),
  onHand: z.number().int(),
  onOrder: z.number().int(),
  missing: z.number().int(),
  /** Last day on which an order keeps the chance; null: none is needed within these days. */
  orderBy: z.string().nullable(),
  /** An order today comes too late to keep the chance. */
  late: z.boolean(),
  orderPieces: z.number().int(),
  /** null: none in the books, a fortnight is taken. */
  leadTimeDays: z.number().int().nullable(),
  leadTimeSpreadDays: z.number().int(),
  /** Machines that may need it, the likeliest first, at most 100; `others` are beyond them. */
  machines: z.array(
    z.object({
      machineId: z.string(),
      labelCode: z.string(),
      quantity: z.number().int(),
      /** Of needing it within the days asked for. */
      chance: z.number(),
      /** The task that is likely to take it first; null: the part may fail. */
      taskName: z.string().nullable(),
      likelyOn: z.string().nullable(),
    }),
  ),
  others: z.object({ machines: z.number().int(), expected: z.number() }),
  sentence: z.string(),
})
export type PartNeed = z.infer<typeof partNeedSchema>
/** servicePercent left out: what each warehouse has chosen. */
export const partNeedsQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  days: z.coerce.number<number | string>().int().min(1).max(400).default(90),
  servicePercent: z.coerce.number<number | string>().int().min(50).max(99).optional(),
})

export const messageSchema = z.object({
  id: z.string(),
  person: z.object({ id: z.string(), name: z.string() }),
  warehouse: z.object({ id: z.string(), name: z.string() }).nullable(),
  localDay: z.string(),
  class: messageClassSchema,
  state: messageStateSchema,
  subject: z.string().nullable(),
  sendAfter: z.string(),
  sentAt: z.string().nullable(),
  attempts: z.number().int(),
  lastError: z.string().nullable(),
  reminderCount: z.number().int(),
})
export type Message = z.infer<typeof messageSchema>
export const listMessagesQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  personId: idSchema.optional(),
  state: severalOf(['pending', 'claimed', 'handing_over', 'sent', 'uncertain', 'failed', 'expired']).optional(),
  ...pageQueryShape,
})
export const reminderSchema = z.object({
  id: z.string(),
  occurrenceId: z.string(),
  machine: z.object({ id: z.string(), labelCode: z.string() }),
  taskName: z.string(),
  stage: reminderStageSchema,
  person: z.object({ id: z.string(), name: z.string() }),
  warehouseId: z.string(),
  class: z.enum(['digest', 'urgent']),
  sayOn: z.string(),
  message: z.object({ id: z.string(), state: messageStateSchema, sentAt: z.string().nullable() }).nullable(),
  droppedReason: z.string().nullable(),
})
export type Reminder = z.infer<typeof reminderSchema>
export const listRemindersQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  machineId: idSchema.optional(),
  occurrenceId: idSchema.optional(),
  personId: idSchema.optional(),
  ...pageQueryShape,
})

/** What should have moved and has not: ages in seconds, null where nothing waits. */
export const healthSchema = z.object({
  now: z.string(),
  warehouses: z.array(
    z.object({ id: z.string(), name: z.string(), plannedOn: z.string().nullable(), changesNotPlanned: z.number().int() }),
  ),
  oldestPendingMessageSeconds: z.number().nullable(),
  oldestUnsaidReminderDay: z.string().nullable(),
  uncertainMessages: z.number().int(),
  failedMessages: z.number().int(),
  forecastsNotComputed: z.number().int(),
  /** The outbox: how many messages are in each state. */
  messagesByState: z.record(z.string(), z.number().int()),
  /** Messages that are due now, against the jobs that the queue says it holds for sending; null: it does not answer. */
  dueMessages: z.number().int(),
  sendingJobs: z.number().int().nullable(),
  /** Reminders that could be in a mail by now, as a worker last counted; null: no worker has said so in the last two minutes. */
  unsaidReminders: z.number().int().nullable(),
  oldestUnsaidSeconds: z.number().nullable(),
  /** What each worker last said of itself. */
  processes: z.array(
    z.object({
      process: z.string(),
      seenAt: z.string(),
      secondsAgo: z.number(),
      /** Its clock less the database's. */
      clockDifferenceMs: z.number(),
      /** null: it does not ask the queue, as an api. */
      queueAnswers: z.boolean().nullable(),
    }),
  ),
  /** What is wrong, in words; empty where everything that should have moved has. */
  wrong: z.array(z.string()),
})
export type Health = z.infer<typeof healthSchema>
export const installationSchema = z.object({ notSafe: z.array(z.object({ what: z.string(), toDo: z.string() })) })
export const livenessSchema = z.object({
  status: z.enum(['live', 'ready', 'not_ready']),
  detail: z.record(z.string(), z.string()).optional(),
})
