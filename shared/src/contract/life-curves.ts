/** How long a kind of part lasts: what was seen, what is fitted to it, and the parts behind. */
import { z } from 'zod'
import { idSchema } from './common.js'

/** 'months' where the strips of a part are not known from its first day on. */
export const lifeUnitSchema = z.enum(['strips', 'months'])
export type LifeUnit = z.infer<typeof lifeUnitSchema>

export const lifeCurveQuerySchema = z.strictObject({
  componentKey: z
    .string()
    .regex(/^[a-z][a-z0-9_]{1,60}$/)
    .default('blade'),
  machineTypeId: idSchema.optional(),
  warehouseId: idSchema.optional(),
  /** Left out: strips where enough of them are known, else months. */
  unit: lifeUnitSchema.optional(),
  /** Most parts told one by one; the curve is of all. */
  limit: z.coerce.number<number | string>().int().min(1).max(2000).default(200),
})

const bandedSchema = z.object({ value: z.number(), low: z.number(), high: z.number() })
const limitedSchema = z.object({ value: z.number(), low: z.number().nullable(), high: z.number().nullable() })

export const lifePartSchema = z.object({
  componentId: z.string(),
  machineId: z.string(),
  labelCode: z.string(),
  typeName: z.string(),
  newOn: z.string().nullable(),
  removedOn: z.string().nullable(),
  removalReason: z.string().nullable(),
  /** In place: today's. */
  ageMonths: z.number().nullable(),
  strips: z.number().nullable(),
  counted: z.enum(['failed', 'good_so_far', 'left_out']),
  leftOutReason: z.string().nullable(),
})
export type LifePart = z.infer<typeof lifePartSchema>

export const lifeCurveSchema = z.object({
  componentKey: z.string(),
  componentName: z.string(),
  unit: lifeUnitSchema,
  /** Component types of which there are parts on record. */
  components: z.array(z.object({ key: z.string(), name: z.string() })),
  sentences: z.array(z.string()),
  counts: z.object({
    onRecord: z.number().int(),
    /** In the curve. */
    parts: z.number().int(),
    failures: z.number().int(),
    withoutAge: z.number().int(),
    beforeRegistration: z.number().int(),
    /** Of those on record, by unit: failures that a curve in it would have. */
    failuresByUnit: z.object({ strips: z.number().int(), months: z.number().int() }),
  }),
  /** Why there is no curve; then what was seen and the fit are empty. */
  hiddenReason: z.string().nullable(),
  oldest: z.number(),
  seenFrom: z.number(),
  seen: z.array(
    z.object({
      age: z.number(),
      atRisk: z.number().int(),
      failed: z.number().int(),
      stillGood: z.number(),
      low: z.number().nullable(),
      high: z.number().nullable(),
    }),
  ),
  fit: z
    .object({
      shape: limitedSchema,
      scale: limitedSchema,
      tenPercent: bandedSchema,
      half: bandedSchema,
      points: z.array(z.object({ age: z.number(), stillGood: z.number(), low: z.number(), high: z.number() })),
    })
    .nullable(),
  noFitReason: z.string().nullable(),
  /** What the dates of the whole organisation are worked out with, the trade's range and its own parts together; null: no date is. */
  datesUse: z.object({ shape: z.number(), scaleMonths: z.number(), tenPercentMonths: z.number(), halfMonths: z.number() }).nullable(),
  parts: z.array(lifePartSchema),
})
export type LifeCurveAnswer = z.infer<typeof lifeCurveSchema>
