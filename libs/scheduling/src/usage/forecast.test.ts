import { describe, expect, it } from '@jest/globals'
import { FACTS, machineToPlan } from '../planning/fixtures-for-tests.js'
import { WORKED_CASES_CALENDAR } from '../planning/plans-for-tests.js'
import { dayOf } from '../time/day.js'
import type { UsageInterval } from '../model.js'
import { prepareFleet, sumOver } from './fleet.js'
import { chanceReached, dayReached, forecastUsage } from './forecast.js'

const today = dayOf('2026-06-15')

describe('day on which strips are reached', () => {
  it('is the day of a walk, far ahead too, and certain long before the horizon', () => {
    const usage = [{ from: today - 7, to: today - 1, strips: 3000, kind: 'counter' as const, relativeError: 0 }]
    const machine = machineToPlan({ usage })
    const forecast = forecastUsage(
      prepareFleet({ today, calendar: WORKED_CASES_CALENDAR, types: { type: FACTS }, machines: [machine] }),
      machine,
    )
    const from = forecast.knownTo
    const last = forecast.context.table.to
    for (const probability of [0.1, 0.5, 0.9, 0.98]) {
      let walked: number | null = null
      for (let day = from + 1; day <= last && walked === null; day++)
        if (chanceReached(forecast, 90_000, from, day) >= probability) walked = day
      expect(dayReached(forecast, 90_000, from, probability)).toBe(walked)
      expect(walked).not.toBeNull()
    }
  })
})

/** A year of weeks whose level and scatter are stated, with a second factor for days in a peak. */
function weeks(level: number, { peakFactor = 1, wander = 0 } = {}): UsageInterval[] {
  let log = 0
  return Array.from({ length: 100 }, (_, index) => {
    const from = today - 700 + 7 * index
    log += wander * (index % 2 === 0 ? 1 : -1) * ((index % 7) - 3)
    const inPeak = from >= PEAK.from && from + 6 <= PEAK.to
    const strips = 5 * level * Math.exp(log) * (inPeak ? 1.5 * peakFactor : from + 6 < PEAK.from || from > PEAK.to ? 1 : 1.2)
    return { from, to: from + 6, strips, kind: 'counter' as const, relativeError: 0 }
  })
}
const PEAK = { from: dayOf('2025-11-03'), to: dayOf('2025-12-21'), usageMultiplier: 1.5, bars: 'nothing' as const }
const AHEAD = { ...PEAK, from: dayOf('2026-11-02'), to: dayOf('2026-12-20') }
const fleetOf = (machines: readonly UsageInterval[][], peaks = [PEAK, AHEAD]) =>
  prepareFleet({
    today,
    calendar: { ...WORKED_CASES_CALENDAR, closures: [], peaks },
    types: { type: FACTS },
    machines: machines.map((usage, index) => machineToPlan({ machineId: `m${index}`, usage })),
  })

describe('what the fleet says', () => {
  const many = (of: (index: number) => UsageInterval[]) => Array.from({ length: 12 }, (_, index) => of(index))

  it('past peaks larger than stated raise those to come, and do not raise the level afterwards', () => {
    const as = fleetOf(many((index) => weeks(600 + 20 * index)))
    const larger = fleetOf(many((index) => weeks(600 + 20 * index, { peakFactor: 1.3 })))
    const inPeak = (context: typeof as) => sumOver(context, context.expected, AHEAD.from, AHEAD.to)
    expect(inPeak(larger) / inPeak(as)).toBeGreaterThan(1.15)
    expect(inPeak(larger) / inPeak(as)).toBeLessThan(1.3)
    expect(larger.peakCv).toBeLessThan(0.22)
  })

  it('evidence from before the days that are looked at does not make an old peak small', () => {
    const tableFrom = fleetOf([]).table.from
    const old = { ...PEAK, from: tableFrom + 20, to: tableFrom + 54 }
    const usage = Array.from({ length: 120 }, (_, index): UsageInterval => {
      const from = tableFrom - 78 + 7 * index
      const strips = from >= old.from && from + 6 <= old.to ? 7500 : 5000
      return { from, to: from + 6, strips, kind: 'counter', relativeError: 0 }
    })
    const inPeak = (usages: UsageInterval[]) => {
      const context = fleetOf(
        many(() => usages),
        [old, AHEAD],
      )
      return sumOver(context, context.expected, AHEAD.from, AHEAD.to)
    }
    expect(inPeak(usage)).toBeCloseTo(inPeak(usage.filter(({ from }) => from >= tableFrom)), 9)
    // Seven weeks of five days, at one and a half ordinary days each.
    expect(inPeak(usage)).toBeCloseTo(35 * 1.5, 0)
  })

  it('levels that stand still have less drift than the assumption, levels that wander more', () => {
    const still = fleetOf(many((index) => weeks(600 + 20 * index)))
    const wandering = fleetOf(many((index) => weeks(600 + 20 * index, { wander: 0.08 })))
    expect(still.driftPerDay).toBeLessThan(0.0001)
    expect(wandering.driftPerDay).toBeGreaterThan(still.driftPerDay)
  })

  it('a machine without evidence gets the level of its type, wider than that of a measured one', () => {
    const context = fleetOf(many((index) => weeks(835 + 30 * index)))
    const [without, measured] = [forecastUsage(context, machineToPlan({})), forecastUsage(context, machineToPlan({ usage: weeks(1000) }))]
    // Twelve machines about 1 000 (geometric mean 995) against a type stated at 800: close to what was measured.
    expect(without.level).toBeGreaterThan(950)
    expect(without.level).toBeLessThan(1010)
    expect(without.levelCv).toBeGreaterThan(3 * measured.levelCv)
  })

  it('inferred evidence far from the pool is laid in part to its factor, for strips cut and to come alike', () => {
    const context = fleetOf(many(() => weeks(1000)))
    const tapped = weeks(300).map((interval) => ({ ...interval, kind: 'tap' as const, relativeError: 0.5 }))
    const { usedFactor, level, sharedSd } = forecastUsage(context, machineToPlan({ usage: tapped }))
    expect(usedFactor).toBeGreaterThan(1.5)
    expect(level).toBeGreaterThan(300 * usedFactor * 0.95)
    expect(sharedSd).toBeGreaterThan(0)
    expect(forecastUsage(context, machineToPlan({ usage: weeks(300) })).usedFactor).toBe(1)
  })
})
