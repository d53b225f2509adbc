import { z } from 'zod'
import { hierarchicalNormal } from '../hierarchy/hierarchical-normal.js'
import { hierarchicalMeans } from '../hierarchy/means.js'
import { shrinkNormal } from '../hierarchy/shrinkage-normal.js'
import { shrinkProportions } from '../hierarchy/shrinkage-proportions.js'
import { hierarchicalSlopes } from '../hierarchy/slopes.js'
import { defineCalculation } from './calculation.js'
import { closedFraction, finite, notNegative, openFraction, positive, wholeCount } from './fields.js'

const rows = z.array(z.array(finite).max(10_000)).max(10_000)
const estimates = z.array(finite).max(10_000)
const standardErrors = z.array(positive).max(10_000)

export const hierarchyCalculations = [
  defineCalculation({
    name: 'hierarchical-means',
    summary: 'Group means drawn towards the grand mean, with the variances between and within',
    inputs: z.strictObject({ groups: rows }),
    compute: ({ groups }) => hierarchicalMeans(groups),
  }),
  defineCalculation({
    name: 'hierarchical-normal',
    summary: 'Estimates with known errors under a normal hierarchy, integrated over the spread between groups',
    inputs: z.strictObject({
      estimates: estimates.max(500),
      standardErrors,
      taus: z.array(notNegative).max(1000).default([]),
      quantiles: z.array(openFraction).max(100).default([]),
    }),
    compute: (asked) => hierarchicalNormal(asked.estimates, asked.standardErrors, asked.taus, asked.quantiles),
  }),
  defineCalculation({
    name: 'hierarchical-slopes',
    summary: 'Lines of several groups drawn towards the common line: random intercepts and slopes',
    inputs: z.strictObject({ x: z.array(finite).max(10_000), groups: rows }),
    compute: ({ x, groups }) => hierarchicalSlopes(x, groups),
  }),
  defineCalculation({
    name: 'shrinkage-normal',
    summary: 'Estimates with known errors drawn towards their mean by three estimates of the spread between',
    inputs: z.strictObject({ estimates, standardErrors }),
    compute: (asked) => shrinkNormal(asked.estimates, asked.standardErrors),
  }),
  defineCalculation({
    name: 'shrinkage-proportions',
    summary: 'Shares of equally many trials drawn towards their mean (James–Stein)',
    inputs: z.strictObject({ proportions: z.array(closedFraction).max(10_000), trials: wholeCount.min(1) }),
    compute: ({ proportions, trials }) => shrinkProportions(proportions, trials),
  }),
]
