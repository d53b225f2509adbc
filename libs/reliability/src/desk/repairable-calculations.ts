import { z } from 'zod'
import { repairableFleet } from '../repairable/fleet.js'
import { groupedPowerLaw } from '../repairable/grouped.js'
import { repairableTrend } from '../repairable/trend.js'
import { defineCalculation } from './calculation.js'
import { positive, wholeCount } from './fields.js'

const ages = z.array(positive).max(100_000)

export const repairableCalculations = [
  defineCalculation({
    name: 'repairable-trend',
    summary: 'Failures of one machine: power law, constant rate, Laplace and chi-square tests of trend',
    inputs: z.strictObject({ failureTimes: ages, end: positive.optional(), truncation: z.enum(['time', 'failure']) }),
    compute: ({ failureTimes, end, truncation }) => repairableTrend(failureTimes, truncation, end),
  }),
  defineCalculation({
    name: 'repairable-fleet',
    summary: 'Failures of several machines: one power law, pooled tests of trend, mean cumulative function',
    inputs: z.strictObject({ systems: z.array(ages).max(10_000), ends: z.array(positive) }),
    compute: ({ systems, ends }) => repairableFleet(systems, ends),
  }),
  defineCalculation({
    name: 'repairable-grouped',
    summary: 'Counts of failures per interval: power law',
    inputs: z.strictObject({ intervalEnds: ages, counts: z.array(wholeCount) }),
    compute: ({ intervalEnds, counts }) => groupedPowerLaw(intervalEnds, counts),
  }),
]
