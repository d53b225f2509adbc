/** Life data as the desk takes them. */
import { z } from 'zod'
import type { LifeData } from '../life/life-data.js'
import { failedMark, notNegative, wholeCount } from './fields.js'

/** Row by row: age, 1 failed or 0 still good, how many parts, age at which they came under observation. */
export const lifeFields = {
  time: z.array(notNegative).min(1),
  failed: z.array(failedMark),
  count: z.array(wholeCount).optional(),
  entry: z.array(notNegative).optional(),
}

export function toLifeData({ time, failed, count, entry }: z.output<z.ZodObject<typeof lifeFields>>): LifeData {
  return { time, failed, count, entry }
}
