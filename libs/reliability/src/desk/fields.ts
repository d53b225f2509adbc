/** Fields that several calculations share. JSON knows no NaN or infinity; texts and null are refused as numbers too. */
import { z } from 'zod'

export const finite = z.number()
export const positive = z.number().positive()
export const notNegative = z.number().min(0)
export const wholeCount = z.int().min(0)
/** A probability or confidence strictly between 0 and 1. */
export const openFraction = z.number().gt(0).lt(1)
export const closedFraction = z.number().min(0).max(1)
/** Event marks as the published cases write them: 1 failed, 0 still running; true and false are as good. */
export const failedMark = z.union([z.literal(0), z.literal(1), z.boolean()], { error: 'must be 0 or 1' }).transform(Number)
