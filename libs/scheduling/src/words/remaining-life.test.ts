import { describe, expect, it } from '@jest/globals'
import { remainingLifeOf, sayRemainingLife } from './remaining-life.js'

const trade = { shape: 2.934, scaleYears: 13.76, removals: 0, failures: 0, shapeLower95: null }

describe('how long a part will probably hold', () => {
  it('of a new one is the trade’s range: 10, 50 and 90 % by scale × (−ln(1 − share))^(1/shape) (Nelson 1982, section 2.4)', () => {
    // 13.76 × 0.10536^(1/2.934) = 6.39, × 0.69315^… = 12.14, × 2.30259^… = 18.28.
    expect(remainingLifeOf(trade, 0)).toEqual({ livedYears: 0, earlyYears: 6.4, likelyYears: 12.1, lateYears: 18.3 })
  })

  it('of one whose life has no memory is the same at any age (exponential: 0.10536, 0.69315 and 2.30259 mean lives)', () => {
    const life = { ...trade, shape: 1, scaleYears: 10 }
    expect(remainingLifeOf(life, 7)).toMatchObject({ earlyYears: 1.1, likelyYears: 6.9, lateYears: 23 })
  })

  it('is said with what it rests on, or why it cannot be', () => {
    const remaining = remainingLifeOf(trade, 6)
    expect(sayRemainingLife(remaining, trade, false)).toMatch(
      /^It has been in for 6 years\. Of parts like it one in ten fails within [\d.]+ years more, half within .*common practice\), none was taken out here yet\.$/,
    )
    expect(sayRemainingLife(remaining, { ...trade, removals: 4, failures: 1 }, true)).toMatch(
      /^It has done 6 years of its type’s usual use\..*4 parts taken out here, of which 1 had failed\.$/,
    )
    expect(sayRemainingLife(null, trade, false)).toContain('Nobody knows when it was new')
  })
})
