import { describe, expect, it } from '@jest/globals'
import { clusteredMean } from './clustered.js'
import { scoreDates } from './score.js'
import { pinballLoss, placeOf, type ScoredDue } from './scored-due.js'

const due = (more: Partial<ScoredDue>): ScoredDue => ({
  trigger: 'usage',
  origin: 'reset',
  cluster: 'a',
  early: 100,
  likely: 110,
  late: 120,
  trueOn: 110,
  chance: null,
  fixedMonthsOn: null,
  lastRepeatedOn: null,
  ...more,
})

describe('the place of a true due', () => {
  it('is before early, after late or between, and in part where an atom lies across the bound', () => {
    expect(placeOf(due({ trueOn: 99 }))).toEqual({ below: 1, above: 0 })
    expect(placeOf(due({ trueOn: 121 }))).toEqual({ below: 0, above: 1 })
    expect(placeOf(due({ trueOn: null }))).toEqual({ below: 0, above: 1 })
    // The early day carries the chances from 0.06 to 0.16: four tenths of its atom lie below 0.1.
    const early = placeOf(due({ trueOn: 100, chance: { before: 0.06, upTo: 0.16 } }))
    expect(early.below).toBeCloseTo(0.4, 12)
    expect(early.above).toBe(0)
    expect(placeOf(due({ trueOn: 120, chance: { before: 0.85, upTo: 0.95 } })).above).toBeCloseTo(0.5, 12)
  })

  it('of a forecast that is true gives 80, 10 and 10 % on average, atoms or not', () => {
    // Due on one of five days with a fifth each: early and late are the first and the last day.
    const days = [1, 2, 3, 4, 5].map((day) =>
      due({ early: 1, likely: 3, late: 5, trueOn: day, chance: { before: (day - 1) / 5, upTo: day / 5 } }),
    )
    const { between, belowEarly, aboveLate } = scoreDates(days)
    expect([between.value, belowEarly.value, aboveLate.value].map((value) => Number(value.toFixed(12)))).toEqual([0.8, 0.1, 0.1])
  })
})

describe('pinball loss', () => {
  it('is worked by hand ten days before the early day and ten after the late one', () => {
    // True 90: early 100 costs 0.9·10, likely 110 costs 0.5·20, late 120 costs 0.1·30; true 130: 0.1·30, 0.5·20, 0.9·10.
    expect(pinballLoss(100, 110, 120, 90)).toBeCloseTo((9 + 10 + 3) / 3, 12)
    expect(pinballLoss(100, 110, 120, 130)).toBeCloseTo((3 + 10 + 9) / 3, 12)
  })

  it('is compared only where all three rules answer', () => {
    const { pinball } = scoreDates([
      due({ fixedMonthsOn: 130, lastRepeatedOn: 100 }),
      due({ fixedMonthsOn: 130, lastRepeatedOn: null }),
      due({ fixedMonthsOn: 130, lastRepeatedOn: 100, late: null }),
    ])
    expect(pinball).toMatchObject({ compared: 1, fixedMonths: 10, lastRepeated: 5 })
    expect(pinball?.ours).toBeCloseTo((1 + 0 + 1) / 3, 12)
    expect(pinball?.betterThanBest).toBeCloseTo(1 - 2 / 3 / 5, 12)
  })
})

describe('mean over clusters', () => {
  it('has an interval by the scatter of cluster totals, wider than that of single members', () => {
    // Two clusters of four, all 1 and all 0: mean 1/2, totals off by 2 each: se = √(2·2²·2)/8 = 1/2; t(1) at 97.5 % is 12.706.
    const { value, low, high } = clusteredMean([1, 1, 1, 1, 0, 0, 0, 0], 'aaaabbbb'.split(''))
    expect(value).toBe(0.5)
    expect(high).toBeCloseTo(0.5 + 12.706204736 / 2, 6)
    expect(low).toBeCloseTo(0.5 - 12.706204736 / 2, 6)
    expect(clusteredMean([1], ['a'])).toEqual({ value: 1, low: null, high: null, count: 1 })
  })
})
