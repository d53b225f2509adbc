/** What is done to many machines at once, and taken back again. */
import { z } from 'zod'
import { machineStatusSchema, mayOpenSchema, ownerSchema, tapeSchema } from '../vocabulary.js'
import { idSchema, localDateSchema, noteSchema, textSchema } from './common.js'
import { machineSummarySchema } from './machines.js'

export const fleetChangeSchema = z.object({
  id: z.string(),
  kind: z.enum(['registered', 'changed', 'swapped']),
  /** 'Tape: reinforced', 'moved to North, station B07'. */
  words: z.string(),
  machineCount: z.number().int(),
  personName: z.string().nullable(),
  madeAt: z.string(),
  undoneAt: z.string().nullable(),
})
export type FleetChange = z.infer<typeof fleetChangeSchema>

export const registerCountedRequestSchema = z.strictObject({
  machineTypeId: idSchema,
  warehouseId: idSchema,
  count: z.number().int().min(1).max(200),
  /** Before the number that is counted on: 'D-' gives D-001, D-002 … */
  labelPrefix: textSchema(29).default('D-'),
  commissionedOn: localDateSchema.nullable().default(null),
  owner: ownerSchema.optional(),
  tape: tapeSchema.optional(),
})
export const registeredSchema = z.object({ change: fleetChangeSchema, machines: z.array(machineSummarySchema) })

const bulkFieldsSchema = z.strictObject({
  commissionedOn: localDateSchema.nullable().optional(),
  owner: ownerSchema.optional(),
  warrantyUntil: localDateSchema.nullable().optional(),
  serviceFirm: textSchema(200).optional(),
  serviceTelephone: textSchema(60).optional(),
  mayOpen: mayOpenSchema.optional(),
  tape: tapeSchema.optional(),
  note: noteSchema.optional(),
})
export const changeMachinesRequestSchema = z
  .strictObject({
    machineIds: z.array(idSchema).min(1).max(500),
    fields: bulkFieldsSchema.optional(),
    status: z.strictObject({ status: machineStatusSchema, reason: textSchema(1000).default('') }).optional(),
    /** Within reach; the machines stand at no station there until they are scanned. */
    place: z.strictObject({ warehouseId: idSchema, stationId: idSchema.nullable().default(null) }).optional(),
  })
  .refine(({ fields, status, place }) => status !== undefined || place !== undefined || Object.keys(fields ?? {}).length > 0, {
    message: 'asks for nothing to be changed',
  })
export type ChangeMachinesRequest = z.input<typeof changeMachinesRequestSchema>

export const swapMachineRequestSchema = z.strictObject({
  /** Takes its place: from the shelf, or from no station. */
  spareMachineId: idSchema,
  /** Where the one that leaves goes. */
  status: z.enum(['at_the_bench', 'away_for_repair', 'on_the_shelf', 'tagged_out', 'retired']),
  reason: textSchema(1000).default(''),
})

export const undoneSchema = z.object({
  change: fleetChangeSchema,
  putBack: z.number().int(),
  /** Machines that somebody changed again since: they stay as they are. */
  leftAsTheyAre: z.array(z.string()),
})
export const fleetChangeParamsSchema = z.strictObject({ fleetChangeId: idSchema })
