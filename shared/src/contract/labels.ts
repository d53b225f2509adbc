/** Labels to stick on machines, and job sheets on paper. */
import { z } from 'zod'
import { idSchema } from './common.js'

export const labelLayoutSchema = z.enum(['a4_3_by_8', 'a4_2_by_7', 'letter_3_by_10', 'letter_2_by_5', 'roll_50_by_25', 'roll_60_by_40'])
export const printLabelsRequestSchema = z.strictObject({
  machineIds: z.array(idSchema).min(1).max(1000),
  layout: labelLayoutSchema.default('a4_3_by_8'),
  /** Labels of the first sheet that are used already. */
  skip: z.number().int().min(0).max(23).default(0),
  /** The old labels are gone: from now on only these count. */
  fresh: z.boolean().default(false),
})
export const jobSheetQuerySchema = z.strictObject({ format: z.enum(['a4', 'letter']).default('a4') })
