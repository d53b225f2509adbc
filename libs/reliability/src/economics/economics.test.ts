import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { InvalidInput } from '../special/errors.js'
import { ageReplacement, ageReplacementCostRate, runToFailureCostRate, steppedAgeReplacement } from './age-replacement.js'
import { periodicReplacement } from './periodic-replacement.js'
import { adviseReplacement, costOfIntervals } from './replacement-advice.js'

const LIFE = { shape: 2.5, scale: 1000 }
const COSTS = { plannedCost: 1, failureCost: 5 }

/** The definition, with the integral by Simpson's rule. */
function plainRate(
  { shape, scale }: { shape: number; scale: number },
  { plannedCost, failureCost }: { plannedCost: number; failureCost: number },
  age: number,
): number {
  const survival = (x: number) => Math.exp(-((x / scale) ** shape))
  const cells = 4000
  let sum = survival(0) + survival(age)
  for (let cell = 1; cell < cells; cell++) sum += (cell % 2 ? 4 : 2) * survival((age * cell) / cells)
  return (plannedCost * survival(age) + failureCost * (1 - survival(age))) / ((sum * age) / cells / 3)
}

describe('published replacement ages', () => {
  it('Python "reliability" library, optimal replacement time: shape 2.5, scale 1000, costs 1 and 5 give 493.05', () => {
    const found = ageReplacement(LIFE, COSTS)
    expect(found.age).toBeCloseTo(493.0469576, 6)
    expect(found.costRate).toBeCloseTo(0.003462042739, 12)
    expect(found.savingFraction).toBeCloseTo(0.3856509486, 9)
    expect(found.pays).toBe(true)
  })

  it('Barlow & Proschan 1965: no finite age without a rising hazard or without dearer failures', () => {
    for (const [life, costs] of [
      [{ shape: 1, scale: 1000 }, COSTS],
      [{ shape: 0.7, scale: 1000 }, COSTS],
      [LIFE, { plannedCost: 3, failureCost: 3 }],
    ] as const)
      expect(ageReplacement(life, costs)).toMatchObject({ pays: false, age: null, runToFailureCostRate: runToFailureCostRate(life, costs) })
  })

  it('a finite age that saves less than 1 % does not pay (R: shape 1.2, costs 1 and 2, age 17 461.8)', () => {
    const found = ageReplacement({ shape: 1.2, scale: 1000 }, { plannedCost: 1, failureCost: 2 })
    expect(found.age).toBeCloseTo(17461.83681, 3)
    expect(found.pays).toBe(false)
  })

  it('the best whole multiple of 100 is 500 (R)', () => {
    expect(steppedAgeReplacement(LIFE, COSTS, 100)).toEqual({ age: 500, costRate: expect.closeTo(0.003462492914, 12) })
    expect(steppedAgeReplacement(LIFE, COSTS, 3000).age).toBe(3000)
  })

  it('Barlow & Hunter 1960: minimal repair, shape 2.5, scale 1000, costs 1 and 5 give 446.658', () => {
    expect(periodicReplacement(LIFE, 1, 5).interval).toBeCloseTo(446.6583884, 6)
    expect(periodicReplacement({ shape: 1, scale: 5 }, 1, 5)).toEqual({ interval: null, costRate: null, repairsPerInterval: null })
  })
})

const lives = fc.record({ shape: fc.double({ min: 1.15, max: 9, noNaN: true }), scale: fc.double({ min: 0.1, max: 1e6, noNaN: true }) })
const dear = fc.double({ min: 1.2, max: 500, noNaN: true })

describe('lives that hardly scatter', () => {
  it('cost 1/T before the life’s end, where nothing fails (mpmath: 1/3 and 1/100)', () => {
    const life = { shape: 1000, scale: 1000 }
    expect(ageReplacementCostRate(life, COSTS, 3)).toBeCloseTo(1 / 3, 14)
    expect(ageReplacementCostRate(life, COSTS, 100)).toBeCloseTo(0.01, 15)
    expect(ageReplacementCostRate(life, COSTS, 7000)).toBeCloseTo(runToFailureCostRate(life, COSTS), 15)
  })

  it('a shape of 10^9 is answered at once, and nearly as the fixed life that it tends to', () => {
    const found = ageReplacement({ shape: 1e9, scale: 1000 }, COSTS)
    expect(found).toMatchObject({ pays: true, age: expect.closeTo(1000, 3), costRate: expect.closeTo(0.001, 8) })
    expect(found.flatRegion?.from).toBeCloseTo(1000 / 1.05, 3)
  })
})

describe('properties', () => {
  it('the cost curve against its definition by numerical integration', () => {
    fc.assert(
      fc.property(lives, dear, fc.double({ min: 0.05, max: 2.5, noNaN: true }), (life, failureCost, ages) => {
        const costs = { plannedCost: 1, failureCost }
        expect(ageReplacementCostRate(life, costs, ages * life.scale) / plainRate(life, costs, ages * life.scale)).toBeCloseTo(1, 6)
      }),
    )
  })

  it('no other age is cheaper, and the flat region holds exactly the ages within 5 %', () => {
    fc.assert(
      fc.property(lives, dear, fc.double({ min: 0.01, max: 5, noNaN: true }), (life, failureCost, ages) => {
        const costs = { plannedCost: 1, failureCost }
        const found = ageReplacement(life, costs)
        if (found.age === null || found.costRate === null || !found.flatRegion) throw new Error('an optimum was expected')
        const age = ages * life.scale
        const rate = ageReplacementCostRate(life, costs, age)
        expect(rate).toBeGreaterThanOrEqual(found.costRate * (1 - 1e-12))
        const inside = age > found.flatRegion.from && (found.flatRegion.to === null || age < found.flatRegion.to)
        if (Math.abs(rate / found.costRate / 1.05 - 1) > 1e-9) expect(inside).toBe(rate < 1.05 * found.costRate)
        expect(found.costRate).toBeLessThanOrEqual(found.runToFailureCostRate * (1 + 1e-12))
      }),
    )
  })

  it('other currencies and units change nothing but the units; dearer failures never raise the age', () => {
    fc.assert(
      fc.property(lives, dear, fc.double({ min: 0.01, max: 100, noNaN: true }), (life, failureCost, factor) => {
        const base = ageReplacement(life, { plannedCost: 1, failureCost })
        const other = ageReplacement({ ...life, scale: life.scale * factor }, { plannedCost: 7, failureCost: 7 * failureCost })
        expect((other.age as number) / (base.age as number) / factor).toBeCloseTo(1, 9)
        expect(ageReplacement(life, { plannedCost: 1, failureCost: 2 * failureCost }).age).toBeLessThanOrEqual(
          (base.age as number) * (1 + 1e-9),
        )
      }),
    )
  })

  it('the periodic interval is the lowest point of its own cost', () => {
    fc.assert(
      fc.property(lives, dear, fc.double({ min: 0.2, max: 3, noNaN: true }), (life, repairCost, factor) => {
        const { interval, costRate } = periodicReplacement(life, 10, repairCost)
        const rate = (at: number) => (10 + repairCost * (at / life.scale) ** life.shape) / at
        expect(rate(interval as number) / (costRate as number)).toBeCloseTo(1, 10)
        expect(rate((interval as number) * factor)).toBeGreaterThanOrEqual((costRate as number) * (1 - 1e-12))
      }),
    )
  })
})

describe('advice', () => {
  it('only where the data show wear-out', () => {
    expect(adviseReplacement(LIFE, COSTS, null).advice).toBe('cannot-tell')
    expect(adviseReplacement(LIFE, COSTS, 0.98).advice).toBe('cannot-tell')
    expect(adviseReplacement(LIFE, COSTS, 1.3).advice).toBe('replace-at-age')
    expect(adviseReplacement({ shape: 1.5, scale: 1000 }, { plannedCost: 1, failureCost: 2 }, 1.3).advice).toBe('does-not-pay')
  })

  it('says what a longer interval would cost', () => {
    const [same, longer] = costOfIntervals(LIFE, COSTS, 493, [493, 900])
    expect(same?.changeFraction).toBeCloseTo(0, 12)
    expect(longer?.changeFraction).toBeGreaterThan(0.1)
  })

  it('bad costs are refused', () => {
    expect(() => ageReplacement(LIFE, { plannedCost: 0, failureCost: 5 })).toThrow(InvalidInput)
    expect(() => ageReplacementCostRate(LIFE, COSTS, 0)).toThrow('age')
    expect(() => periodicReplacement(LIFE, 1, Number.NaN)).toThrow('repairCost')
  })
})
