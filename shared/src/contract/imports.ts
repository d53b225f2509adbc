/** Bringing a list into the books from a file, and taking lists out. */
import { z } from 'zod'
import { idSchema, pageQueryShape, textSchema } from './common.js'

export const importKindSchema = z.enum([
  'warehouses',
  'stations',
  'machines',
  'components',
  'evidence',
  'cartons',
  'rolls',
  'taps',
  'service_history',
])
export const importStateSchema = z.enum([
  'reading',
  'to_map',
  'checking',
  'checked',
  'applying',
  'applied',
  'cancelled',
  'failed',
  'undone',
])
export const rowOutcomeSchema = z.enum(['new', 'changed', 'unchanged', 'refused'])
const dateFormSchema = z.enum(['iso', 'dmy', 'mdy'])
const decimalMarkSchema = z.enum(['.', ','])

/** A file as an answer: text as it is, everything else in base64. */
export const fileSchema = z.object({
  fileName: z.string(),
  mediaType: z.string(),
  encoding: z.enum(['utf8', 'base64']),
  content: z.string(),
})
export type FileAnswer = z.infer<typeof fileSchema>

const fieldSchema = z.object({
  key: z.string(),
  label: z.string(),
  required: z.boolean(),
  type: z.enum(['text', 'label', 'date', 'month', 'number', 'choice', 'zone', 'time']),
  example: z.string(),
})

export const importSchema = z.object({
  id: z.string(),
  kind: importKindSchema,
  state: importStateSchema,
  fileName: z.string(),
  personName: z.string().nullable(),
  createdAt: z.string(),
  endedAt: z.string().nullable(),
  rowCount: z.number().int(),
  /** Rows that the work under way has come to. */
  workedCount: z.number().int(),
  counts: z.object({
    new: z.number().int(),
    changed: z.number().int(),
    unchanged: z.number().int(),
    refused: z.number().int(),
    applied: z.number().int(),
  }),
  how: z.enum(['good_rows', 'all_or_nothing']).nullable(),
  problem: z.string().nullable(),
})
export type Import = z.infer<typeof importSchema>

export const importDetailSchema = importSchema.extend({
  headings: z.array(z.string()),
  /** The first rows as they came. */
  sample: z.array(z.array(z.string())),
  fields: z.array(fieldSchema),
  /** Column by field: as saved, as remembered of the same headings, or guessed from them. */
  mapping: z.record(z.string(), z.number().int()),
  mappingFrom: z.enum(['saved', 'remembered', 'guessed']),
  dateForm: dateFormSchema.nullable(),
  decimalMark: decimalMarkSchema.nullable(),
  /** By column: which form its dates and numbers allow; null where that column needs none, 'ask' where both fit. */
  columns: z.array(
    z.object({
      dates: z.enum(['dmy', 'mdy', 'ask', 'mixed']).nullable(),
      numbers: z.enum(['.', ',', 'ask', 'mixed']).nullable(),
    }),
  ),
})
export type ImportDetail = z.infer<typeof importDetailSchema>

export const rowFaultSchema = z.object({
  column: z.string(),
  value: z.string(),
  code: z.string(),
  problem: z.string(),
  remedy: z.string(),
})
export type RowFault = z.infer<typeof rowFaultSchema>
export const importRowSchema = z.object({
  line: z.number().int(),
  cells: z.array(z.string()),
  outcome: rowOutcomeSchema.nullable(),
  faults: z.array(rowFaultSchema),
  applied: z.boolean(),
})

export const importParamsSchema = z.strictObject({ importId: idSchema })
export const createImportQuerySchema = z.strictObject({ kind: importKindSchema, fileName: textSchema(300).min(1) })
export const listImportsQuerySchema = z.strictObject(pageQueryShape)
export const mapImportRequestSchema = z.strictObject({
  mapping: z.record(z.string().max(60), z.number().int().min(0).max(500)),
  dateForm: dateFormSchema.nullable().default(null),
  decimalMark: decimalMarkSchema.nullable().default(null),
})
export const applyImportRequestSchema = z.strictObject({ how: z.enum(['good_rows', 'all_or_nothing']) })
export const listImportRowsQuerySchema = z.strictObject({ outcome: rowOutcomeSchema.optional(), ...pageQueryShape })
const fileFormatSchema = z.enum(['csv', 'xlsx']).default('csv')
export const templateQuerySchema = z.strictObject({ kind: importKindSchema.default('machines'), format: fileFormatSchema })

export const exportListSchema = z.enum([
  'warehouses',
  'stations',
  'machines',
  'components',
  'evidence',
  'cartons',
  'rolls',
  'taps',
  'service_history',
  'dates',
  'work_orders',
  'stoppages',
  'parts',
  'people',
])
export const exportQuerySchema = z.strictObject({ list: exportListSchema.default('machines'), format: fileFormatSchema })
