/** Machines: the list, one machine's story, moves, components. */
import { z } from 'zod'
import {
  counterKindSchema,
  driveSchema,
  machineStatusSchema,
  mayOpenSchema,
  ownerSchema,
  removalReasonSchema,
  supplySchema,
  tapeSchema,
} from '../vocabulary.js'
import {
  idSchema,
  instantSchema,
  localDateSchema,
  nameSchema,
  noteSchema,
  pageQueryShape,
  severalOf,
  textSchema,
  versionSchema,
} from './common.js'
import { basisSchema } from './forecasts.js'

export const labelCodeSchema = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9_-]{1,39}$/, 'must be 2 to 40 letters, digits, - or _')
const componentKeySchema = z.string().regex(/^[a-z][a-z0-9_]{1,60}$/)

export const machineSummarySchema = z.object({
  id: z.string(),
  labelCode: z.string(),
  serialNumber: z.string(),
  machineType: z.object({
    id: z.string(),
    name: z.string(),
    drive: driveSchema,
    supply: supplySchema,
    heater: z.boolean(),
    counterKind: counterKindSchema,
  }),
  status: machineStatusSchema,
  statusSince: z.string(),
  owner: ownerSchema,
  mayOpen: mayOpenSchema,
  warehouse: z.object({ id: z.string(), name: z.string() }).nullable(),
  station: z.object({ id: z.string(), name: z.string(), line: z.string(), walkingOrder: z.number().int() }).nullable(),
  /** The earliest date there is; null: none yet. */
  next: z
    .object({
      serviceTaskId: z.string(),
      taskName: z.string(),
      earlyOn: z.string().nullable(),
      likelyOn: z.string().nullable(),
      lateOn: z.string().nullable(),
      dueOn: z.string().nullable(),
    })
    .nullable(),
  openOccurrences: z.number().int(),
  lateOccurrences: z.number().int(),
  doNotUse: z.boolean(),
  stopped: z.boolean(),
  version: z.number().int(),
})
export type MachineSummary = z.infer<typeof machineSummarySchema>

export const placementSchema = z.object({
  id: z.string(),
  warehouse: z.object({ id: z.string(), name: z.string() }),
  station: z.object({ id: z.string(), name: z.string(), line: z.string() }).nullable(),
  fromAt: z.string(),
  toAt: z.string().nullable(),
  shareOfStation: z.number(),
})
export const statusPeriodSchema = z.object({
  id: z.string(),
  status: machineStatusSchema,
  fromAt: z.string(),
  toAt: z.string().nullable(),
  reason: z.string(),
  personName: z.string().nullable(),
})
export const machineDetailSchema = machineSummarySchema.extend({
  commissionedOn: z.string().nullable(),
  registeredOn: z.string(),
  warrantyUntil: z.string().nullable(),
  serviceFirm: z.string(),
  serviceTelephone: z.string(),
  tape: tapeSchema,
  note: z.string(),
  zone: z.string().nullable(),
  today: z.string().nullable(),
  stripsTotal: z.number(),
  placements: z.array(placementSchema),
  statusPeriods: z.array(statusPeriodSchema),
  /** workOrderId: the order that opened the machine; null: none did. */
  openStoppage: z.object({ id: z.string(), failedAt: z.string(), failureMode: z.string(), workOrderId: z.string().nullable() }).nullable(),
  openWorkOrders: z.array(z.object({ id: z.string(), number: z.number().int(), state: z.string(), technicianName: z.string().nullable() })),
  /** Words that count more than any date, such as a tag or whose machine it is; the first line of every view. */
  notices: z.array(z.string()),
})
export type MachineDetail = z.infer<typeof machineDetailSchema>

/** A machine as a phone keeps it, so that its page opens by a scan without a network. */
export const onSiteMachineSchema = machineSummarySchema
  .pick({ id: true, labelCode: true, status: true, owner: true, mayOpen: true, warehouse: true, station: true })
  .extend({
    machineType: z.object({ name: z.string(), counterKind: counterKindSchema }),
    /** What stands in the code of its label; null: no label was printed yet. */
    labelToken: z.string().nullable(),
    serviceFirm: z.string(),
    serviceTelephone: z.string(),
    today: z.string().nullable(),
    notices: z.array(z.string()),
    openStoppage: machineDetailSchema.shape.openStoppage,
    openWorkOrders: machineDetailSchema.shape.openWorkOrders,
    /** The next few dates, earliest first. */
    dates: z.array(
      z.object({
        serviceTaskId: z.string(),
        taskName: z.string(),
        likelyOn: z.string().nullable(),
        why: z.string(),
        lastDoneOn: z.string().nullable(),
      }),
    ),
    /** The last few times of care, latest first. */
    care: z.array(z.object({ id: z.string(), taskName: z.string(), doneOn: z.string(), personName: z.string() })),
  })
export type OnSiteMachine = z.infer<typeof onSiteMachineSchema>
export const onSiteMachinesQuerySchema = z.strictObject(pageQueryShape)

export const MACHINE_STATUSES = machineStatusSchema.options
export const listMachinesQuerySchema = z.strictObject({
  warehouseId: idSchema.optional(),
  stationId: idSchema.optional(),
  line: textSchema(100).optional(),
  machineTypeId: idSchema.optional(),
  status: severalOf(['in_service', 'on_the_shelf', 'at_the_bench', 'away_for_repair', 'tagged_out', 'not_found', 'retired']).optional(),
  /** Part of the label code or serial number. */
  search: textSchema(100).optional(),
  /** closest: what is searched for as the whole label or serial number, then as its beginning, then anywhere. */
  order: z.enum(['label', 'walking', 'due', 'closest']).default('label'),
  ...pageQueryShape,
})
export type ListMachinesQuery = z.input<typeof listMachinesQuerySchema>

const machineFields = {
  serialNumber: nameSchema(100),
  labelCode: labelCodeSchema,
  commissionedOn: localDateSchema.nullable(),
  owner: ownerSchema,
  warrantyUntil: localDateSchema.nullable(),
  serviceFirm: textSchema(200),
  serviceTelephone: textSchema(60),
  mayOpen: mayOpenSchema,
  tape: tapeSchema,
  note: noteSchema,
}
export const registeredComponentSchema = z.strictObject({
  componentKey: componentKeySchema,
  /** Local day on which it was first fitted as new; null: not known. */
  newOn: localDateSchema.nullable(),
})
export const registeredCareSchema = z.strictObject({ taskKey: componentKeySchema, doneOn: localDateSchema })
export const createMachineRequestSchema = z
  .strictObject(machineFields)
  .partial()
  .required({ serialNumber: true, labelCode: true })
  .extend({
    id: idSchema.optional(),
    machineTypeId: idSchema,
    status: machineStatusSchema.default('in_service'),
    placement: z.strictObject({
      warehouseId: idSchema,
      stationId: idSchema.nullable().default(null),
      shareOfStation: z.number().gt(0).max(1).default(1),
      /** Left out: now. */
      fromAt: instantSchema.optional(),
    }),
    /** Left out: one of each component type of the machine type, fitted on a day not known (or when commissioned, if that is known). */
    components: z.array(registeredComponentSchema).max(60).optional(),
    /** Care known to have been done before; all else is 'not known'. */
    lastDone: z.array(registeredCareSchema).max(100).optional(),
  })
export type CreateMachineRequest = z.input<typeof createMachineRequestSchema>
export const createMachinesRequestSchema = z.strictObject({ machines: z.array(createMachineRequestSchema).min(1).max(200) })
export const patchMachineRequestSchema = z.strictObject(machineFields).partial().extend({ version: versionSchema.optional() })
export type PatchMachineRequest = z.input<typeof patchMachineRequestSchema>

export const moveMachineRequestSchema = z.strictObject({
  warehouseId: idSchema,
  stationId: idSchema.nullable().default(null),
  shareOfStation: z.number().gt(0).max(1).default(1),
  /** Left out: now. Not in the future, not before the placement it ends. */
  at: instantSchema.optional(),
})
export type MoveMachineRequest = z.input<typeof moveMachineRequestSchema>
/** As the floor says it, by a scan of the label where the machine stands. */
export const standMachineRequestSchema = z.strictObject({
  stationName: nameSchema(100),
  line: textSchema(100).default(''),
  /** Of the phone's entry; the same station said twice changes nothing. */
  id: idSchema.optional(),
})
export const changeStatusRequestSchema = z.strictObject({
  status: machineStatusSchema,
  at: instantSchema.optional(),
  reason: textSchema(1000).default(''),
})
export type ChangeStatusRequest = z.input<typeof changeStatusRequestSchema>

export const measurementSchema = z.object({
  id: z.string(),
  name: z.string(),
  valueMm: z.number(),
  enteredUnit: z.enum(['mm', 'in']),
  enteredText: z.string(),
  whenTaken: z.enum(['as_found', 'as_left']),
  measuredOn: z.string(),
  state: z.string(),
  setAsideReason: z.string().nullable(),
})
export type Measurement = z.infer<typeof measurementSchema>
export const componentSchema = z.object({
  componentId: z.string(),
  placementId: z.string(),
  componentType: z.object({ id: z.string(), key: z.string(), name: z.string() }),
  newOn: z.string().nullable(),
  fromDate: z.string().nullable(),
  toDate: z.string().nullable(),
  removalReason: removalReasonSchema.nullable(),
  /** Strips since new, as far as the ledger knows; null: not known. */
  usedStrips: z.number().nullable(),
  limits: z.object({ newMm: z.number(), planMm: z.number(), neverBelowMm: z.number(), stated: z.boolean() }).nullable(),
  measurements: z.array(measurementSchema),
  /** Basis of the wear date, as the pass stored it; null where there is none. */
  wear: basisSchema.nullable(),
  /** How long one in place will probably hold, where its kind has a life; null: it has none, or is out. */
  life: z
    .object({
      sentence: z.string(),
      /** Further years by which 10, 50 and 90 % of such parts have failed; null: its age is not known. */
      remaining: z.object({ livedYears: z.number(), earlyYears: z.number(), likelyYears: z.number(), lateYears: z.number() }).nullable(),
    })
    .nullable(),
  note: z.string(),
})
export type MachineComponent = z.infer<typeof componentSchema>
export const fitComponentRequestSchema = z
  .strictObject({
    id: idSchema.optional(),
    componentKey: componentKeySchema,
    /** One that stands in no machine now and keeps its age; left out: a new one. */
    componentId: idSchema.optional(),
    fittedOn: localDateSchema,
    /** For a used part that is not in the books: day on which it was new; null: not known. Left out: new on the day it is fitted. */
    newOn: localDateSchema.nullable().optional(),
    note: noteSchema.default(''),
  })
  .refine((fit) => fit.componentId === undefined || fit.newOn === undefined, {
    message: 'is known already for a component in the books',
    path: ['newOn'],
  })
export type FitComponentRequest = z.input<typeof fitComponentRequestSchema>
export const removeComponentRequestSchema = z.strictObject({
  removedOn: localDateSchema,
  reason: removalReasonSchema,
  note: noteSchema.default(''),
})

/** What the books say wrongly of a part; what is left out stays. */
export const patchComponentRequestSchema = z.strictObject({
  newOn: localDateSchema.nullable().optional(),
  fittedOn: localDateSchema.nullable().optional(),
  /** Of a part that is out. */
  removedOn: localDateSchema.optional(),
  reason: removalReasonSchema.optional(),
  note: noteSchema.optional(),
})

export const usageSchema = z.object({
  from: z.string(),
  to: z.string(),
  /** A day without a row: nothing is known of it. */
  days: z.array(
    z.object({
      day: z.string(),
      strips: z.number(),
      metres: z.number(),
      motorMinutes: z.number(),
      kind: z.enum(['counter', 'strips', 'cartons', 'rolls', 'tap']),
      relativeError: z.number(),
    }),
  ),
  stripsTotal: z.number(),
  daysByKind: z.record(z.string(), z.number()),
  closures: z.array(z.object({ fromDate: z.string(), toDate: z.string(), reason: z.string() })),
  peaks: z.array(z.object({ fromDate: z.string(), toDate: z.string(), name: z.string(), usageMultiplier: z.number() })),
})
export type MachineUsage = z.infer<typeof usageSchema>
export const usageQuerySchema = z.strictObject({ from: localDateSchema.optional(), to: localDateSchema.optional() })

export const serviceRecordSchema = z.object({
  id: z.string(),
  serviceTaskId: z.string(),
  taskName: z.string(),
  doneOn: z.string(),
  doneAt: z.string(),
  personName: z.string(),
  source: z.enum(['work_order', 'round', 'mail_link', 'import', 'registration', 'desk']),
  workOrder: z.object({ id: z.string(), number: z.number().int() }).nullable(),
  occurrenceId: z.string().nullable(),
  settles: z.boolean(),
  note: z.string(),
})
export type ServiceRecord = z.infer<typeof serviceRecordSchema>
export const tellCareRequestSchema = z.strictObject({
  /** A task of the machine's type that neither measures nor replaces. */
  serviceTaskId: idSchema,
  doneOn: localDateSchema,
  doneBy: nameSchema(200),
  note: noteSchema.default(''),
})
export const takeBackCareRequestSchema = z.strictObject({ reason: nameSchema(500) })
export const serviceRecordParamsSchema = z.strictObject({ serviceRecordId: idSchema })

export const auditEntrySchema = z.object({
  id: z.string(),
  at: z.string(),
  actor: z.string(),
  action: z.string(),
  subjectKind: z.string(),
  subjectId: z.string().nullable(),
  /** What it is called now; null: it is gone, or has no name. */
  subjectName: z.string().nullable(),
  before: z.unknown(),
  after: z.unknown(),
  requestId: z.string().nullable(),
})
export const listAuditQuerySchema = z.strictObject({
  subjectKind: textSchema(60).optional(),
  subjectId: idSchema.optional(),
  /** What was changed at one machine: itself, its dates, orders, stoppages, evidence, records. */
  machineId: idSchema.optional(),
  ...pageQueryShape,
})

export const machineParamsSchema = z.strictObject({ machineId: idSchema })
export const labelParamsSchema = z.strictObject({ labelCode: labelCodeSchema })
export const machinePlacementParamsSchema = z.strictObject({ machineId: idSchema, placementId: idSchema })
export const machineComponentParamsSchema = z.strictObject({ machineId: idSchema, componentId: idSchema })
