import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { prepareFleet } from '../usage/fleet.js'
import { chanceReached, forecastUsage } from '../usage/forecast.js'
import { machineToPlan, FACTS } from '../planning/fixtures-for-tests.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dayOf } from '../time/day.js'
import { quantileDay, type StripsNode } from './first-due.js'

const today = dayOf('2026-06-15')
const nodesOf = fc.array(fc.record({ remaining: fc.integer({ min: -5000, max: 400_000 }), weight: fc.integer({ min: 1, max: 20 }) }), {
  minLength: 2,
  maxLength: 12,
})

describe('quantile day of several nodes', () => {
  it('is the day that a walk from day to day finds', () => {
    fc.assert(
      fc.property(
        nodesOf,
        fc.integer({ min: 1, max: 3000 }),
        fc.integer({ min: 1, max: 12 }),
        fc.constantFrom(0.05, 0.1, 0.5, 0.9),
        (raw, perDay, weeks, probability) => {
          const usage = Array.from({ length: weeks }, (_, week) => ({
            from: today - 7 * (weeks - week),
            to: today - 7 * (weeks - week) + 6,
            strips: perDay * 5,
            kind: 'counter' as const,
            relativeError: 0,
          }))
          const machine = machineToPlan({ usage, stripsTotal: perDay * 5 * weeks })
          const forecast = forecastUsage(
            prepareFleet({ today, calendar: WORKED_CASES_CALENDAR, types: { type: FACTS }, machines: [machine] }),
            machine,
          )
          const sum = raw.reduce((total, { weight }) => total + weight, 0)
          const nodes: StripsNode[] = raw.map(({ remaining, weight }) => ({ remaining, weight: weight / sum }))
          const from = forecast.knownTo
          const chance = (day: number): number =>
            nodes.reduce((total, { remaining, weight }) => total + weight * chanceReached(forecast, remaining, from, day), 0)
          let walked: number | null = null
          for (let day = Math.max(from, today); day <= forecast.context.table.to && walked === null; day++)
            if (chance(day) >= probability) walked = day
          expect(quantileDay(forecast, nodes, from, probability)).toBe(walked)
        },
      ),
      { numRuns: 60 },
    )
  })
})
