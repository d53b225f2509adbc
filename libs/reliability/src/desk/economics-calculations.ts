import { z } from 'zod'
import { ageReplacement, ageReplacementCostRate, runToFailureCostRate, steppedAgeReplacement } from '../economics/age-replacement.js'
import { periodicReplacement } from '../economics/periodic-replacement.js'
import { defineCalculation } from './calculation.js'
import { positive } from './fields.js'

const lifeAndCosts = { shape: positive, scale: positive, plannedCost: positive, failureCost: positive }

export const economicsCalculations = [
  defineCalculation({
    name: 'age-replacement',
    summary: 'Age of least cost, what it saves against running to failure, and whether that pays',
    inputs: z.strictObject(lifeAndCosts),
    compute: ({ shape, scale, ...costs }) => ageReplacement({ shape, scale }, costs),
  }),
  defineCalculation({
    name: 'age-replacement-curve',
    summary: 'Cost per unit of age for each replacement age asked about',
    inputs: z.strictObject({ ...lifeAndCosts, ages: z.array(positive) }),
    compute: ({ shape, scale, ages, ...costs }) => ({
      costRates: ages.map((age) => ageReplacementCostRate({ shape, scale }, costs, age)),
    }),
  }),
  defineCalculation({
    name: 'age-replacement-stepped',
    summary: 'The best replacement age among whole multiples of a step',
    inputs: z.strictObject({ ...lifeAndCosts, step: positive }),
    compute: ({ shape, scale, step, ...costs }) => ({
      ...steppedAgeReplacement({ shape, scale }, costs, step),
      runToFailureCostRate: runToFailureCostRate({ shape, scale }, costs),
    }),
  }),
  defineCalculation({
    name: 'periodic-replacement',
    summary: 'Best fixed interval where failures in between are repaired to as bad as old',
    inputs: z.strictObject({ shape: positive, scale: positive, plannedCost: positive, repairCost: positive }),
    compute: ({ shape, scale, plannedCost, repairCost }) => periodicReplacement({ shape, scale }, plannedCost, repairCost),
  }),
]
