/** The desk refuses what it cannot answer in one sentence that names the field; the sums themselves are tested beside them. */
import { describe, expect, it } from '@jest/globals'
import { InvalidInput } from '../special/errors.js'
import { lifeCalculations } from './life-calculations.js'

function ask(name: string, inputs: unknown): unknown {
  const calculation = lifeCalculations.find((each) => each.name === name)
  if (!calculation) throw new Error(`no ${name}`)
  return calculation.answer(inputs)
}

const COSTS = { shape: 2.5, scale: 1000, plannedCost: 1, failureCost: 5 }

describe('refusals', () => {
  it.each([
    ['weibull-fit', { time: [1, 2] }, 'failed is missing'],
    ['weibull-fit', { time: [1, 'NaN'], failed: [1, 1] }, 'time[1] must be a finite number; it is "NaN"'],
    ['weibull-fit', { time: [1, null], failed: [1, 1] }, 'time[1] must be a finite number; it is null'],
    ['weibull-fit', { time: [1, -2], failed: [1, 1] }, 'time[1] must be at least 0; it is -2'],
    ['weibull-fit', { time: [1, 2, 3], failed: [1, 1] }, 'failed has 2 entries but time has 3'],
    ['weibull-fit', { time: [1, 2], failed: [1, 2] }, 'failed[1] must be 0 or 1'],
    ['weibull-fit', { time: [], failed: [] }, 'time must have at least 1 entries'],
    ['weibull-fit', { time: [1, 2], failed: [1, 0], entri: [0, 0] }, 'entri is not a field of this calculation'],
    ['weibull-fit', { time: [1, Infinity], failed: [1, 0] }, 'time[1] must be a finite number'],
    ['weibull-fit', [1], 'inputs must be an object'],
    ['weibull-fit', undefined, 'inputs is missing'],
    ['weibull-fixed-shape', { time: [1], failed: [1], shape: 0, confidences: [] }, 'shape must be above 0; it is 0'],
    ['weibull-fixed-shape', { time: [1], failed: [1], shape: 1, confidences: [95] }, 'confidences[0] must be below 1; it is 95'],
    [
      'weibull-posterior',
      { time: [1], failed: [1], logShapePrior: { mean: 0, sd: 0 }, logScalePrior: { mean: 0, sd: 1 }, quantiles: [] },
      'logShapePrior.sd',
    ],
    ['weibull-remaining-life', { shape: 2, scale: 10, age: -1, horizons: [] }, 'age must be at least 0; it is -1'],
    ['kaplan-meier', { time: [3, 4], failed: [1] }, 'failed has 1 entries but time has 2'],
    ['age-replacement', { ...COSTS, failureCost: '5' }, 'failureCost must be a finite number; it is "5"'],
    ['age-replacement-curve', { ...COSTS, ages: [100, 0] }, 'ages[1] must be above 0'],
    ['age-replacement-stepped', COSTS, 'step is missing'],
    ['regression-line', { x: [1, 2, 3], y: [1, 2] }, 'y has 2 entries but x has 3'],
    ['counter-usage', { day: [0, 1], reading: [9, 8] }, 'reading[1] is below the reading before'],
    ['convert', { value: 1, from: 'ft', to: 'stone' }, 'to is not a unit known here'],
  ])('%s %j: %s', (name, inputs, sentence) => {
    expect(() => ask(name, inputs)).toThrow(InvalidInput)
    expect(() => ask(name, inputs)).toThrow(sentence)
  })

  it('a sum that leaves the numbers is refused, not turned into null', () => {
    expect(() => ask('weibull-remaining-life', { shape: 0.001, scale: 1, age: 0, horizons: [] })).toThrow('is not a finite number')
  })
})

describe('answers', () => {
  it('are there for every calculation of this room, each with a summary', () => {
    expect(lifeCalculations.map(({ name }) => name)).toEqual([
      'weibull-fit',
      'weibull-fixed-shape',
      'weibull-posterior',
      'weibull-remaining-life',
      'kaplan-meier',
      'age-replacement',
      'age-replacement-curve',
      'age-replacement-stepped',
      'periodic-replacement',
      'regression-line',
      'regression-through-origin',
      'wear-known-new-length',
      'counter-usage',
      'convert',
    ])
    for (const { summary } of lifeCalculations) expect(summary.length).toBeGreaterThan(20)
  })

  it('say why there is no fit instead of numbers', () => {
    expect(ask('weibull-fit', { time: [5, 5], failed: [true, false] })).toEqual({
      finite: false,
      n: 2,
      failures: 1,
      reason: 'failures-only-at-oldest-age',
    })
  })

  it('Kaplan–Meier without a failure has no rows and no median', () => {
    expect(ask('kaplan-meier', { time: [5, 8], failed: [0, 0] })).toMatchObject({
      rows: [],
      median: null,
      medianLog95: [null, null],
      restrictedMeanToLast: 8,
    })
  })

  it('a fixed shape without failures gives lower limits (Nelson 1985)', () => {
    expect(
      ask('weibull-fixed-shape', { time: [1200, 1500, 2000, 2400, 3000], failed: [0, 0, 0, 0, 0], shape: 2, confidences: [0.95] }),
    ).toEqual({
      n: 5,
      failures: 0,
      scale: null,
      scaleLower: [{ confidence: 0.95, value: expect.closeTo(2737.516047, 5) }],
    })
  })
})
