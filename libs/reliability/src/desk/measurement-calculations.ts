import { z } from 'zod'
import { fitLine, invertFittedLine, predictLine } from '../regression/line.js'
import { fitThroughOrigin, wearFromKnownLength } from '../regression/through-origin.js'
import { convert } from '../units/convert.js'
import { counterUsage } from '../usage/counter.js'
import { defineCalculation } from './calculation.js'
import { finite, notNegative, openFraction, positive } from './fields.js'

const line = defineCalculation({
  name: 'regression-line',
  summary: 'Least squares line with predictions, and the x at which a level is reached with its limits',
  inputs: z.strictObject({
    x: z.array(finite),
    y: z.array(finite),
    predictAt: z.array(z.strictObject({ x: finite, confidence: openFraction })).optional(),
    invertAt: z.array(z.strictObject({ y: finite, confidence: openFraction, meanResponse: z.boolean() })).optional(),
  }),
  compute({ x, y, predictAt = [], invertAt = [] }) {
    const fitted = fitLine(x, y)
    const { n, intercept, slope, interceptStandardError, slopeStandardError, residualSd, rSquared } = fitted
    return {
      n,
      intercept,
      slope,
      interceptStandardError,
      slopeStandardError,
      residualSd,
      rSquared,
      predictions: predictAt.map((asked) => predictLine(fitted, asked.x, asked.confidence)),
      inversions: invertAt.map((asked) => invertFittedLine(fitted, asked.y, asked.confidence, asked.meanResponse)),
    }
  },
})

const throughOrigin = defineCalculation({
  name: 'regression-through-origin',
  summary: 'Least squares line through the origin',
  inputs: z.strictObject({ x: z.array(finite), y: z.array(finite) }),
  compute({ x, y }) {
    const { n, slope, slopeStandardError, residualSd, rSquared } = fitThroughOrigin(x, y)
    return { n, slope, slopeStandardError, residualSd, rSquared }
  },
})

const knownLength = defineCalculation({
  name: 'wear-known-new-length',
  summary: 'Wear rate from measured lengths and a known new length, and the use at which a limit is reached',
  inputs: z.strictObject({
    usage: z.array(notNegative).min(1),
    lengthMm: z.array(notNegative),
    newLengthMm: positive,
    limitMm: notNegative,
    confidence: openFraction,
  }),
  compute: wearFromKnownLength,
})

const counter = defineCalculation({
  name: 'counter-usage',
  summary: 'Use from counter readings across roll-over and swapped counters, with its rate a day',
  inputs: z.strictObject({
    day: z.array(finite).min(1),
    reading: z.array(notNegative),
    modulus: positive.optional(),
    segment: z.array(finite).optional(),
  }),
  compute: counterUsage,
})

const conversion = defineCalculation({
  name: 'convert',
  summary: 'Exact conversion between units of length, time, speed, mass and temperature',
  inputs: z.strictObject({ value: finite, from: z.string(), to: z.string() }),
  compute: ({ value, from, to }) => ({ value: convert(value, from, to) }),
})

export const measurementCalculations = [line, throughOrigin, knownLength, counter, conversion]
