import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { lifeCurve } from './life-curve.js'
import type { PartRecord } from './part-records.js'
import { ageBand, survivalBand } from './weibull-bands.js'
import { fitWeibull, type WeibullFit } from './weibull-fit.js'

/** Meeker & Escobar 1998, table C.2: kilometres of 38 shock absorbers. */
const ABSORBERS = [
  6700, 6950, 7820, 8790, 9120, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12200, 12870, 13150, 13330, 13470, 14040, 14300, 17520,
  17540, 17890, 18450, 18960, 18980, 19410, 20100, 20100, 20150, 20320, 20900, 22700, 23490, 26510, 27410, 27490, 27890, 28100,
]
const FAILED = new Set([6700, 9120, 12200, 13150, 14300, 17520, 20900, 22700, 26510, 27490])
const failed = ABSORBERS.map((age, row) => (FAILED.has(age) || row === 26 ? 1 : 0))
const records = ABSORBERS.map((age, row): PartRecord => ({
  age,
  ageAtRegistration: 0,
  failed: failed[row] === 1,
  removedBeforeRegistration: false,
}))
const part = (age: number, entry: number, isFailed: boolean): PartRecord => ({
  age,
  ageAtRegistration: entry,
  failed: isFailed,
  removedBeforeRegistration: false,
})

function fitted(): WeibullFit {
  const fit = fitWeibull({ time: ABSORBERS, failed })
  if (!fit.finite) throw new Error(fit.reason)
  return fit
}

/** Log-likelihood with the age by which a share has failed in place of the scale, as its definition has it. */
function inTermsOf(share: number, logAge: number, logShape: number): number {
  const shape = Math.exp(logShape)
  const logScale = logAge - Math.log(-Math.log(1 - share)) / shape
  return ABSORBERS.reduce((sum, age, row) => {
    const u = shape * (Math.log(age) - logScale)
    return sum - Math.exp(u) + (failed[row] ? logShape - Math.log(age) + u : 0)
  }, 0)
}

/** Variance of ln age from the curvature of that likelihood by differences: nothing shared with the code under test. */
function varianceByDifferences(share: number, logAge: number, logShape: number): number {
  const step = 1e-3
  const at = (a: number, b: number) => inTermsOf(share, logAge + a * step, logShape + b * step)
  const aa = (at(1, 0) - 2 * at(0, 0) + at(-1, 0)) / step ** 2
  const bb = (at(0, 1) - 2 * at(0, 0) + at(0, -1)) / step ** 2
  const ab = (at(1, 1) - at(1, -1) - at(-1, 1) + at(-1, -1)) / (4 * step ** 2)
  return -bb / (aa * bb - ab * ab)
}

describe('limits of a fitted life', () => {
  it.each([0.1, 0.5, 0.9])('of the age by which %f have failed agree with the curvature of the likelihood in that age', (share) => {
    const fit = fitted()
    const { value, low, high } = ageBand(fit, share)
    const error = Math.sqrt(varianceByDifferences(share, Math.log(value), Math.log(fit.shape)))
    // 1.959964 is the 97.5 % point of the normal distribution.
    expect(Math.log(high / value) / (1.959964 * error)).toBeCloseTo(1, 4)
    expect(Math.log(value / low) / (1.959964 * error)).toBeCloseTo(1, 4)
  })
  it('of the share still good turn those of the age about: where one ends, the other begins', () => {
    const fit = fitted()
    // The delta method on u and on ln age differ by the factor shape alone, at the age itself.
    const { value, low } = ageBand(fit, 0.1)
    const band = survivalBand(fit, value)
    expect(band.value).toBeCloseTo(0.9, 12)
    const reach = Math.log(-Math.log(band.low)) - Math.log(-Math.log(0.9))
    expect(reach / (fit.shape * Math.log(value / low))).toBeCloseTo(1, 10)
  })
  it('hold the value, and follow the unit', () => {
    const fit = fitted()
    fc.assert(
      fc.property(fc.double({ min: 1, max: 1e6, noNaN: true }), fc.double({ min: 0.01, max: 100, noNaN: true }), (age, factor) => {
        const band = survivalBand(fit, age)
        expect(band.low).toBeLessThanOrEqual(band.value)
        expect(band.high).toBeGreaterThanOrEqual(band.value)
        const other = survivalBand({ ...fit, scale: fit.scale * factor }, age * factor)
        expect(other.low).toBeCloseTo(band.low, 9)
      }),
    )
  })
})

describe('a life curve', () => {
  it('of parts seen from new is Kaplan–Meier beside the fit: 38 shock absorbers, shape 3.160470 (R survreg), 11 steps', () => {
    const curve = lifeCurve(records)
    expect(curve).toMatchObject({ parts: 38, failures: 11, oldest: 28100, seenFrom: 0, noFit: null })
    expect(curve.seen).toHaveLength(11)
    // First failure of 38: 37/38.
    expect(curve.seen[0]).toMatchObject({ age: 6700, atRisk: 38, failed: 1, stillGood: 37 / 38 })
    expect(curve.fit!.shape.value).toBeCloseTo(3.160470315, 8)
    expect(curve.fit!.shape.low).toBeCloseTo(1.89853217, 7)
    expect(curve.fit!.points.at(-1)!.age).toBeCloseTo(28100, 9)
  })
  it('says why there is no fit', () => {
    expect(lifeCurve([part(3, 0, false), part(4, 0, false)])).toMatchObject({ fit: null, noFit: 'no-failures', seen: [] })
    expect(lifeCurve([])).toMatchObject({ parts: 0, noFit: 'no-failures' })
    expect(lifeCurve([part(4, 0, true), part(3, 0, false)])).toMatchObject({ fit: null, noFit: 'failures-only-at-oldest-age' })
  })
  it('begins where five were watched: one of two that fails early does not take all with it', () => {
    // Entered at 1, 2, 4, 4, 4, 6; the first failed at 3 while two were watched. From 4 on: 4 + … five are watched first at 6.
    const list = [part(3, 1, true), part(9, 2, false), part(8, 4, true), part(9, 4, false), part(7, 4, true), part(10, 6, false)]
    const curve = lifeCurve(list)
    expect(curve.seenFrom).toBe(6)
    // At 7 five of them are at risk, at 8 four: 4/5, then 4/5 · 3/4.
    expect(curve.seen.map(({ age, atRisk, stillGood }) => [age, atRisk, Number(stillGood.toFixed(12))])).toEqual([
      [7, 5, 0.8],
      [8, 4, 0.6],
    ])
  })
  it('leaves out what has no age and removals from before registration, and counts them', () => {
    const old = { age: 5, ageAtRegistration: 5, failed: true, removedBeforeRegistration: true }
    const unknown = { age: null, ageAtRegistration: 0, failed: true, removedBeforeRegistration: false }
    expect(lifeCurve([...records, old, unknown])).toMatchObject({ parts: 38, withoutAge: 1, beforeRegistration: 1 })
  })
})
