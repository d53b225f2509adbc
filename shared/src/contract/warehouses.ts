/** Warehouses with their week, closures and peaks; the people named for reminders; stations. */
import { z } from 'zod'
import { ifStoppedSchema, peakBarsSchema, roleSchema, unitsSchema, waterHardnessSchema } from '../vocabulary.js'
import { movedDatesShape } from './moved-dates.js'
import {
  idSchema,
  localDateSchema,
  moneySchema,
  nameSchema,
  noteSchema,
  pageQueryShape,
  textSchema,
  timeOfDaySchema,
  versionSchema,
  zoneSchema,
} from './common.js'

const weekdaySchema = z.number().int().min(1).max(7)

/** Monday = 1. A shift that ends at or before its start ends on the next day. */
export const shiftRequestSchema = z.strictObject({ weekday: weekdaySchema, starts: timeOfDaySchema, ends: timeOfDaySchema })
export const shiftSchema = z.object({ id: z.string(), weekday: z.number().int(), starts: z.string(), ends: z.string() })

const lastNotBeforeFirst = { message: 'must not lie before the first day', path: ['toDate'] }
export const closureRequestSchema = z
  .strictObject({ fromDate: localDateSchema, toDate: localDateSchema, reason: textSchema(200).default('') })
  .refine((closure) => closure.toDate >= closure.fromDate, lastNotBeforeFirst)
export const closureSchema = z.object({ id: z.string(), fromDate: z.string(), toDate: z.string(), reason: z.string() })

/** What closed days would do, before they are added. */
export const closurePreviewSchema = z.object({
  machineCount: z.number().int(),
  /** Fewer than machineCount where very many machines stand there. */
  machinesComputed: z.number().int(),
  earlierCount: z.number().int(),
  laterCount: z.number().int(),
  /** Of those that move, by the middle one; negative is earlier. */
  medianDays: z.number().nullable(),
  ...movedDatesShape,
  /** Said already for one of these days, and fixed since (rule 9); at most 400. */
  openDueCount: z.number().int(),
  openDues: z.array(
    z.object({ occurrenceId: z.string(), machineId: z.string(), labelCode: z.string(), taskName: z.string(), dueOn: z.string() }),
  ),
  /** Planned for one of these days by hand, and so not moved by them. */
  visits: z.array(z.object({ id: z.string(), visitOn: z.string(), technicianName: z.string().nullable() })),
  /** In no visit. */
  workOrders: z.array(z.object({ id: z.string(), number: z.number().int(), plannedOn: z.string() })),
})
export type ClosurePreview = z.infer<typeof closurePreviewSchema>

export const peakRequestSchema = z
  .strictObject({
    name: textSchema(100).default(''),
    fromDate: localDateSchema,
    toDate: localDateSchema,
    usageMultiplier: z.number().gt(0).max(20).default(1),
    bars: peakBarsSchema.default('nothing'),
  })
  .refine((peak) => peak.toDate >= peak.fromDate, lastNotBeforeFirst)
export const peakSchema = z.object({
  id: z.string(),
  name: z.string(),
  fromDate: z.string(),
  toDate: z.string(),
  usageMultiplier: z.number(),
  bars: peakBarsSchema,
})

export const warehouseSchema = z.object({
  id: z.string(),
  name: z.string(),
  zone: z.string(),
  today: z.string(),
  address: z.string(),
  waterHardness: waterHardnessSchema,
  currency: z.string(),
  labourCostPerHour: z.number().nullable(),
  stoppageCostPerHour: z.number().nullable(),
  /** Hours of technicians' work that there are here in a week; first looks are spread over them. null: not known. */
  technicianHoursAWeek: z.number().nullable(),
  /** Chance, in percent, that a part is there when it is needed. */
  partsServicePercent: z.number().int(),
  units: unitsSchema,
  firstPersonId: z.string().nullable(),
  secondPersonId: z.string().nullable(),
  firstPersonName: z.string().nullable(),
  secondPersonName: z.string().nullable(),
  machineCount: z.number().int(),
  stationCount: z.number().int(),
  /** Local day of the newest planning pass; upToDate: it has seen every change so far. */
  plannedOn: z.string().nullable(),
  upToDate: z.boolean(),
  version: z.number().int(),
})
export type Warehouse = z.infer<typeof warehouseSchema>

export const warehouseDetailSchema = warehouseSchema.extend({
  shifts: z.array(shiftSchema),
  closures: z.array(closureSchema),
  peaks: z.array(peakSchema),
  people: z.array(z.object({ id: z.string(), name: z.string(), role: roleSchema, disabled: z.boolean() })),
})
export type WarehouseDetail = z.infer<typeof warehouseDetailSchema>

const warehouseFields = {
  name: nameSchema(200),
  zone: zoneSchema,
  address: textSchema(1000),
  waterHardness: waterHardnessSchema,
  currency: z.string().regex(/^[A-Z]{3}$/, 'must be a currency code such as EUR'),
  labourCostPerHour: moneySchema.nullable(),
  stoppageCostPerHour: moneySchema.nullable(),
  technicianHoursAWeek: z.number().gt(0).max(10_000).nullable(),
  partsServicePercent: z.number().int().min(50).max(99),
  units: unitsSchema,
  firstPersonId: idSchema.nullable(),
  secondPersonId: idSchema.nullable(),
}
export const createWarehouseRequestSchema = z
  .strictObject(warehouseFields)
  .partial()
  .required({ name: true, zone: true })
  .extend({
    id: idSchema.optional(),
    shifts: z.array(shiftRequestSchema).max(100).optional(),
  })
export type CreateWarehouseRequest = z.input<typeof createWarehouseRequestSchema>
/** version: as last read; a change by another in between is refused with 409. */
export const patchWarehouseRequestSchema = z.strictObject(warehouseFields).partial().extend({ version: versionSchema.optional() })
export type PatchWarehouseRequest = z.input<typeof patchWarehouseRequestSchema>

export const putShiftsRequestSchema = z.strictObject({ shifts: z.array(shiftRequestSchema).max(100) })
export const putWarehousePeopleRequestSchema = z.strictObject({ personIds: z.array(idSchema).max(500) })

export const stationSchema = z.object({
  id: z.string(),
  warehouseId: z.string(),
  name: z.string(),
  line: z.string(),
  walkingOrder: z.number().int(),
  ifStopped: ifStoppedSchema,
  stripsPerCarton: z.number().nullable(),
  machines: z.array(z.object({ id: z.string(), labelCode: z.string(), status: z.string(), shareOfStation: z.number() })),
  version: z.number().int(),
})
export type Station = z.infer<typeof stationSchema>

const stationFields = {
  name: nameSchema(100),
  line: textSchema(100),
  walkingOrder: z.number().int().min(-1_000_000).max(1_000_000),
  ifStopped: ifStoppedSchema,
  stripsPerCarton: z.number().gt(0).max(100).nullable(),
}
export const createStationRequestSchema = z
  .strictObject(stationFields)
  .partial()
  .required({ name: true })
  .extend({ id: idSchema.optional(), warehouseId: idSchema })
export type CreateStationRequest = z.input<typeof createStationRequestSchema>
export const patchStationRequestSchema = z.strictObject(stationFields).partial().extend({ version: versionSchema.optional() })
export type PatchStationRequest = z.input<typeof patchStationRequestSchema>
export const walkStationRequestSchema = z.strictObject({ to: z.enum(['earlier', 'later']), version: versionSchema.optional() })
export const listStationsQuerySchema = z.strictObject({ warehouseId: idSchema.optional(), ...pageQueryShape })

export const warehouseParamsSchema = z.strictObject({ warehouseId: idSchema })
export const closureParamsSchema = z.strictObject({ warehouseId: idSchema, closureId: idSchema })
export const peakParamsSchema = z.strictObject({ warehouseId: idSchema, peakId: idSchema })
export const stationParamsSchema = z.strictObject({ stationId: idSchema })
export const absenceRequestSchema = z
  .strictObject({
    fromDate: localDateSchema,
    toDate: localDateSchema,
    coverPersonId: idSchema.nullable().default(null),
    note: noteSchema.optional(),
  })
  .refine((absence) => absence.toDate >= absence.fromDate, lastNotBeforeFirst)
