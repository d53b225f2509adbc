import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import jstat from 'jstat'
import { InvalidInput } from '../special/errors.js'
import { ageAtNextLook, remainingLifeRange } from './look-due.js'
import {
  addedHazard,
  ageAtFailedFraction,
  conditionalFailure,
  conditionalSurvival,
  meanLife,
  meanRemainingLife,
  remainingLife,
} from './weibull.js'

const lives = fc.record({ shape: fc.double({ min: 0.2, max: 12, noNaN: true }), scale: fc.double({ min: 1e-3, max: 1e6, noNaN: true }) })
const shares = fc.double({ min: 1e-9, max: 1 - 1e-9, noNaN: true })
const apart = (value: number, wanted: number): number => Math.abs(value - wanted) / Math.abs(wanted)

/** ∫ exp(−(H(age + x) − H(age))) dx by Simpson's rule out to where nothing is left. */
function meanBySimpson(shape: number, scale: number, age: number): number {
  const end = scale * ((age / scale) ** shape + 45) ** (1 / shape) - age
  const cells = 40_000
  const at = (x: number) => Math.exp((age / scale) ** shape - ((age + x) / scale) ** shape)
  let sum = at(0) + at(end)
  for (let cell = 1; cell < cells; cell++) sum += (cell % 2 ? 4 : 2) * at((end * cell) / cells)
  return (sum * end) / cells / 3
}

describe('closed forms', () => {
  it('shape 1 is the exponential, which has no memory', () => {
    for (const age of [0, 1, 777, 1e5]) {
      expect(meanRemainingLife({ shape: 1, scale: 1000 }, age)).toBeCloseTo(1000, 8)
      expect(remainingLife({ shape: 1, scale: 1000 }, age, 0.5)).toBeCloseTo(693.14718056, 8)
    }
  })

  it('shape 2 (Rayleigh): mean life is scale · √π / 2', () => {
    expect(meanLife({ shape: 2, scale: 10 })).toBeCloseTo(5 * Math.sqrt(Math.PI), 12)
  })

  it('survival to age 4000 at scale 1000 and shape 8 underflows, the rest of life does not (R, cumulative hazards)', () => {
    const life = { shape: 8, scale: 1000 }
    expect(meanRemainingLife(life, 4000)).toBeCloseTo(0.007629292671, 11)
    expect(conditionalSurvival(life, 4000, 0.005)).toBeCloseTo(0.5192536083, 9)
    expect(remainingLife(life, 4000, 0.5)).toBeCloseTo(0.005288268838587, 13)
  })

  it('a hazard that underflows and then overflows is still one ratio (closed forms)', () => {
    const steep = { shape: 2000, scale: 80 }
    expect([30, 40, 50].map((more) => conditionalSurvival(steep, 40, more))).toEqual([1, expect.closeTo(Math.exp(-1), 12), 0])
    expect(conditionalSurvival({ shape: 999, scale: 1 }, 7, 0)).toBe(1)
    expect(meanRemainingLife({ shape: 999, scale: 1 }, 7)).toBe(0)
  })

  it('an age too short to count leaves the quantiles of a new part (closed form 1000 · ln 2^(1/2.1))', () => {
    expect(apart(remainingLife({ shape: 2.1, scale: 1000 }, 1e-308, 0.5), 1000 * Math.LN2 ** (1 / 2.1))).toBeLessThan(1e-13)
    const tiny = { shape: 0.001, scale: 1000 }
    expect(apart(addedHazard(tiny, 1e-300, 1e10), 1e7 ** 0.001 - 1e-303 ** 0.001)).toBeLessThan(1e-12)
  })

  it('a hazard that underflows takes the age itself off the mean (mpmath)', () => {
    const life = { shape: 50, scale: 1000 }
    expect(apart(meanRemainingLife(life, 1e-6), meanLife(life) - 1e-6)).toBeLessThan(1e-14)
  })

  it('5 % of bearings of shape 2.1 and scale 81.9 fail by 19.9079 (closed form, R)', () => {
    expect(remainingLife({ shape: 2.1, scale: 81.9 }, 0, 0.05)).toBeCloseTo(19.90797292, 7)
  })
})

describe('properties', () => {
  it('quantile and chance undo each other at any age', () => {
    fc.assert(
      fc.property(lives, fc.oneof(fc.constant(0), fc.double({ min: 1e-6, max: 8, noNaN: true })), shares, (life, ageInScales, share) => {
        const more = remainingLife(life, ageInScales * life.scale, share)
        expect(apart(conditionalFailure(life, ageInScales * life.scale, more), share)).toBeLessThan(1e-8)
      }),
    )
  })

  it('mean remaining life against numerical integration', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 6, noNaN: true }), fc.double({ min: 0, max: 3, noNaN: true }), (shape, age) => {
        expect(apart(meanRemainingLife({ shape, scale: 1 }, age), meanBySimpson(shape, 1, age))).toBeLessThan(1e-7)
      }),
      { numRuns: 40 },
    )
  })

  it('for parts that wear out, what is left shrinks with age; for infant failures it grows', () => {
    fc.assert(
      fc.property(lives, fc.double({ min: 0.01, max: 3, noNaN: true }), (life, age) => {
        const [young, old] = [meanRemainingLife(life, age * life.scale), meanRemainingLife(life, age * life.scale * 1.5)]
        if (life.shape > 1.001) expect(old).toBeLessThan(young)
        if (life.shape < 0.999) expect(old).toBeGreaterThan(young)
      }),
    )
  })

  it('hazards of two stretches add up; early, likely and late are in order', () => {
    fc.assert(
      fc.property(lives, fc.double({ min: 0, max: 2, noNaN: true }), fc.double({ min: 0, max: 2, noNaN: true }), (life, a, b) => {
        const [age, more] = [a * life.scale, b * life.scale]
        const sum = addedHazard(life, 0, age) + addedHazard(life, age, more)
        expect(Math.abs(sum - addedHazard(life, 0, age + more))).toBeLessThanOrEqual(1e-11 * (1 + sum))
        const { early, likely, late } = remainingLifeRange(life, age)
        expect(early <= likely && likely <= late).toBe(true)
      }),
    )
  })

  it('agrees with jStat', () => {
    fc.assert(
      fc.property(lives, shares, ({ shape, scale }, share) => {
        expect(apart(ageAtFailedFraction({ shape, scale }, share), jstat.weibull.inv(share, scale, shape))).toBeLessThan(1e-6)
      }),
    )
  })
})

describe('the look', () => {
  it('falls due at the age at which the chance since the last look reaches the level', () => {
    const life = { shape: 2.934, scale: 13.76 }
    const age = ageAtNextLook(life, 6, 0.1)
    expect(conditionalFailure(life, 6, age - 6)).toBeCloseTo(0.1, 12)
    expect(age).toBeLessThan(ageAtNextLook(life, 8, 0.1))
    expect(ageAtNextLook(life, 6, 0)).toBe(6)
  })

  it('bad input is refused', () => {
    for (const call of [
      () => ageAtNextLook({ shape: 1, scale: 1 }, -1, 0.1),
      () => remainingLife({ shape: 1, scale: 1 }, 0, 1),
      () => meanLife({ shape: 0, scale: 1 }),
      () => conditionalSurvival({ shape: 1, scale: Number.NaN }, 0, 1),
    ])
      expect(call).toThrow(InvalidInput)
  })
})
