import { describe, expect, it } from '@jest/globals'
import { CALENDAR, FACTS, machineToPlan } from '../planning/fixtures.js'
import { dayOf } from '../time/day.js'
import { prepareFleet } from './fleet.js'
import { chanceReached, dayReached, forecastUsage } from './forecast.js'

const today = dayOf('2026-06-15')

describe('day on which strips are reached', () => {
  it('is the day of a walk even where the chance falls again before the horizon', () => {
    const usage = [{ from: today - 7, to: today - 1, strips: 3000, kind: 'counter' as const, relativeError: 0 }]
    const machine = machineToPlan({ usage })
    const forecast = forecastUsage(prepareFleet({ today, calendar: CALENDAR, types: { type: FACTS }, machines: [machine] }), machine)
    const from = forecast.knownTo
    const last = forecast.context.table.to
    for (const probability of [0.1, 0.5, 0.9, 0.98]) {
      let walked: number | null = null
      for (let day = from + 1; day <= last && walked === null; day++)
        if (chanceReached(forecast, 90_000, from, day) >= probability) walked = day
      expect(dayReached(forecast, 90_000, from, probability)).toBe(walked)
    }
    expect(chanceReached(forecast, 90_000, from, last)).toBeLessThan(0.98)
    expect(dayReached(forecast, 90_000, from, 0.98)).not.toBeNull()
  })
})
