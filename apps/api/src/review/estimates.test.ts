import { describe, expect, it } from '@jest/globals'
import { meanBetween, meanDuration, meanOf, shareOf } from './estimates.js'

describe('limits of a mean time between events', () => {
  // Tables of the chi-square distribution: χ²(0.975; 38) = 56.896 and χ²(0.025; 36) = 21.336, so the factors are 36/56.896 = 0.6327
  // and 36/21.336 = 1.6873.
  it('are those of the tables for 18 events', () => {
    const { value, low, high } = meanBetween(800, 18)
    expect(value).toBeCloseTo(44.444, 3)
    expect((low ?? 0) / (value ?? 1)).toBeCloseTo(0.6327, 3)
    expect((high ?? 0) / (value ?? 1)).toBeCloseTo(1.6873, 3)
  })
  it('says why there is none', () => {
    expect(meanBetween(800, 4)).toEqual({
      value: null,
      low: null,
      high: null,
      n: 4,
      hiddenReason: 'Only 4 in this period; at least 5 are needed.',
    })
    expect(meanBetween(800, 0, 1).hiddenReason).toBe('None in this period.')
  })
})

describe('other limits', () => {
  // Clopper and Pearson for 5 in 10: 0.187086 and 0.812914 (R 4: binom.test(5, 10)).
  it('of a share are exact', () => {
    const { low, high } = shareOf(5, 10)
    expect(low).toBeCloseTo(0.187086, 5)
    expect(high).toBeCloseTo(0.812914, 5)
    expect(shareOf(0, 10)).toMatchObject({ value: 0, low: 0 })
    expect(shareOf(10, 10)).toMatchObject({ value: 1, high: 1 })
  })
  // By hand: 1 … 5 have mean 3 and standard error √(2.5/5) = 0.70711; t(0.975; 4) = 2.77645: 3 ± 1.96324.
  it('of a mean are Student’s', () => {
    const { value, low, high } = meanOf([1, 2, 3, 4, 5])
    expect(value).toBe(3)
    expect(low).toBeCloseTo(1.03676, 4)
    expect(high).toBeCloseTo(4.96324, 4)
  })
  it('of a duration enclose it', () => {
    const { value, low, high } = meanDuration([1, 2, 3, 4, 5, 6])
    expect(value).toBe(3.5)
    expect(low).toBeLessThan(3.5)
    expect(high).toBeGreaterThan(3.5)
  })
})
