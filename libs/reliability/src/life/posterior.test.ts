import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { InvalidInput } from '../special/errors.js'
import { normalQuantile } from '../special/normal.js'
import { estimateLife } from './estimate-life.js'
import { gridDistribution, gridQuantile } from './grid-distribution.js'
import { prepareLife } from './life-data.js'
import { usableRecords, type PartRecord } from './part-records.js'
import { integratePosterior, weibullPosterior } from './posterior-integrals.js'
import { posteriorMode } from './posterior-mode.js'
import { priorFromRange, weibullThrough } from './prior.js'

const FIVE = { time: [800, 1200, 1500, 2000, 2400], failed: [0, 0, 1, 0, 0] }
const PRIOR = { logShape: { mean: Math.log(2), sd: 0.4 }, logScale: { mean: Math.log(3000), sd: 0.6 } }
const LEVELS = [0.025, 0.5, 0.975]

/** Likelihood times prior as their definitions have them. */
function plainDensity(logShape: number, logScale: number): number {
  const normal = (x: number, { mean, sd }: { mean: number; sd: number }) =>
    Math.exp(-0.5 * ((x - mean) / sd) ** 2) / sd / Math.sqrt(2 * Math.PI)
  const [shape, scale] = [Math.exp(logShape), Math.exp(logScale)]
  const likelihood = FIVE.time.reduce((product, time, row) => {
    const survival = Math.exp(-((time / scale) ** shape))
    return product * survival * (FIVE.failed[row] ? (shape / scale) * (time / scale) ** (shape - 1) : 1)
  }, 1)
  return likelihood * normal(logShape, PRIOR.logShape) * normal(logScale, PRIOR.logScale)
}

describe('the posterior of one failure in five', () => {
  const posterior = weibullPosterior(FIVE, PRIOR, LEVELS)

  it('mode, evidence, means and quantiles as R and an independent Python program computed them', () => {
    expect(posterior.mode.logShape).toBeCloseTo(0.793695752, 8)
    expect(posterior.mode.logScale).toBeCloseTo(8.10970321, 7)
    expect(posterior.mode.covariance[0][0]).toBeCloseTo(0.1275224218, 6)
    expect(posterior.mode.covariance[0][1]).toBeCloseTo(-0.04279816601, 6)
    expect(posterior.logEvidence).toBeCloseTo(-10.12147952, 7)
    expect(posterior.meanShape / 2.204745528).toBeCloseTo(1, 5)
    expect(posterior.meanScale / 3960.027197).toBeCloseTo(1, 5)
    posterior.shapeQuantiles.forEach((value, index) =>
      expect(value / ([1.037617576, 2.078993523, 4.092968504][index] as number)).toBeCloseTo(1, 3),
    )
    posterior.scaleQuantiles.forEach((value, index) =>
      expect(value / ([1949.516684, 3533.708557, 8457.091475][index] as number)).toBeCloseTo(1, 3),
    )
  })

  it('a slow grid over the plain definition gives the same', () => {
    const cells = 400
    let [total, shapes, scales, below] = [0, 0, 0, 0]
    for (let i = 0; i <= cells; i++)
      for (let j = 0; j <= cells; j++) {
        const [logShape, logScale] = [-2.5 + (6 * i) / cells, 5 + (8 * j) / cells]
        const value = plainDensity(logShape, logScale)
        total += value
        shapes += value * Math.exp(logShape)
        scales += value * Math.exp(logScale)
        if (Math.exp(logScale) < (posterior.scaleQuantiles[2] as number)) below += value
      }
    expect(shapes / total / posterior.meanShape).toBeCloseTo(1, 6)
    expect(scales / total / posterior.meanScale).toBeCloseTo(1, 6)
    expect(Math.log((total * 48) / cells / cells)).toBeCloseTo(posterior.logEvidence, 6)
    expect(Math.abs(below / total - 0.975)).toBeLessThan(2e-3)
  })
})

describe('hard priors and data', () => {
  it.each([
    ['no failure, vague', { time: [800, 2400], failed: [0, 0] }, 2, 3],
    ['all failed at one age', { time: [1500, 1500, 1500], failed: [1, 1, 1] }, 1, 2],
    ['only the oldest failed', { time: [800, 2400], failed: [0, 1] }, 1, 2],
    ['entered late', { time: [800, 2400, 900], failed: [1, 1, 0], entry: [500, 0, 850] }, 0.5, 0.6],
  ])('%s: a finer grid changes nothing', (_what, data, shapeSd, scaleSd) => {
    const prior = { logShape: { mean: Math.log(2), sd: shapeSd }, logScale: { mean: Math.log(3000), sd: scaleSd } }
    const life = prepareLife(data)
    const [coarse, fine] = [integratePosterior(life, prior, LEVELS), integratePosterior(life, prior, LEVELS, 600, 480)]
    expect(coarse.logEvidence).toBeCloseTo(fine.logEvidence, 8)
    expect(coarse.meanShape / fine.meanShape).toBeCloseTo(1, 6)
    coarse.scaleQuantiles.forEach((value, index) => expect(value / (fine.scaleQuantiles[index] as number)).toBeCloseTo(1, 4))
    coarse.shapeQuantiles.forEach((value, index) => expect(value / (fine.shapeQuantiles[index] as number)).toBeCloseTo(1, 4))
  })

  it('a part just fitted says nothing: the posterior is the prior', () => {
    const { meanShape, scaleQuantiles, logEvidence, mode } = weibullPosterior({ time: [1e-30], failed: [0] }, PRIOR, LEVELS)
    expect(logEvidence).toBeCloseTo(0, 8)
    expect(meanShape).toBeCloseTo(2 * Math.exp(0.08), 7)
    expect(scaleQuantiles[2]).toBeCloseTo(3000 * Math.exp(0.6 * normalQuantile(0.975)), 0)
    expect(mode.covariance[1][1]).toBeCloseTo(0.36, 8)
  })

  it('bad priors and levels are refused', () => {
    expect(() => weibullPosterior(FIVE, { ...PRIOR, logShape: { mean: 0, sd: 0 } }, [])).toThrow(InvalidInput)
    expect(() => weibullPosterior(FIVE, PRIOR, [1])).toThrow('quantiles[0]')
  })
})

describe('distribution on a grid', () => {
  it('a normal density gives normal quantiles', () => {
    const density = Float64Array.from({ length: 161 }, (_, index) => Math.exp(-0.5 * (-8 + index / 10) ** 2))
    for (const level of [0.001, 0.1, 0.5, 0.975])
      expect(-8 + gridQuantile(gridDistribution(density), level) / 10).toBeCloseTo(normalQuantile(level), 4)
  })
})

describe('prior from the range of trade', () => {
  it('5 and 20 years as the 5 % and 95 % points: shape 2.934, scale 13.76 years (design of the forecast, section 3)', () => {
    const { shape, scale } = weibullThrough({ fivePercent: 5, ninetyFivePercent: 20 })
    expect(shape).toBeCloseTo(2.934, 3)
    expect(scale).toBeCloseTo(13.76, 2)
    expect(1 - Math.exp(-((5 / scale) ** shape))).toBeCloseTo(0.05, 12)
    expect(priorFromRange({ fivePercent: 5, ninetyFivePercent: 20 }).logShape.sd).toBeCloseTo(0.78 / Math.sqrt(3), 12)
  })
  it('strips a year carry over into the scale alone', () => {
    const [years, strips] = [
      priorFromRange({ fivePercent: 5, ninetyFivePercent: 20 }),
      priorFromRange({ fivePercent: 5, ninetyFivePercent: 20 }, 90_000),
    ]
    expect(strips.logScale.mean - years.logScale.mean).toBeCloseTo(Math.log(90_000), 12)
    expect(strips.logShape).toEqual(years.logShape)
  })
})

const part = (age: number | null, more: Partial<PartRecord> = {}): PartRecord => ({
  age,
  ageAtRegistration: 0,
  failed: false,
  removedBeforeRegistration: false,
  ...more,
})

describe('an organisation’s own parts', () => {
  const prior = priorFromRange({ fivePercent: 5, ninetyFivePercent: 20 })

  it('nothing on record: the prior itself', () => {
    const estimate = estimateLife([], prior)
    expect(estimate).toMatchObject({ parts: 0, failures: 0, shapeLower95: null })
    expect(estimate.scale).toBeCloseTo(13.76, 2)
  })

  it('unknown ages stay out; old removals count only where their list is complete; old parts enter at their age', () => {
    const records = [
      part(null),
      part(6, { failed: true, removedBeforeRegistration: true }),
      part(9, { ageAtRegistration: 4 }),
      part(3, { failed: true }),
      part(0),
    ]
    expect(usableRecords(records, false)).toEqual({
      data: { time: [9, 3], failed: [0, 1], entry: [4, 0] },
      withoutAge: 1,
      beforeRegistration: 1,
    })
    expect(usableRecords(records, true).data.time).toEqual([6, 9, 3])
    expect(() => usableRecords([part(2, { ageAtRegistration: 3 })], false)).toThrow('records[0].ageAtRegistration')
  })

  it('early failures shorten the life, survivors lengthen it, and plenty of data drown the prior', () => {
    const short = estimateLife(
      Array.from({ length: 8 }, (_, index) => part(2 + index / 4, { failed: true })),
      prior,
    )
    const long = estimateLife(
      Array.from({ length: 8 }, () => part(18)),
      prior,
    )
    expect(short.scale).toBeLessThan(13)
    expect(long.scale).toBeGreaterThan(14)
    const many = Array.from({ length: 4000 }, (_, index) => part(8 * (-Math.log((index + 0.5) / 4000)) ** (1 / 2), { failed: true }))
    const estimate = estimateLife(many, prior)
    expect(estimate.shape).toBeCloseTo(2, 1)
    expect(estimate.scale).toBeCloseTo(8, 1)
    expect(estimate.shapeLower95).toBeGreaterThan(1.9)
  })

  it('the mode is no worse than its neighbours', () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ age: fc.double({ min: 0.1, max: 40, noNaN: true }), failed: fc.boolean() }), { minLength: 1, maxLength: 20 }),
        (list) => {
          const life = prepareLife({ time: list.map(({ age }) => age), failed: list.map(({ failed }) => Number(failed)) })
          const { logShape, logScale, covariance } = posteriorMode(life, prior)
          expect(covariance[0][0] * covariance[1][1]).toBeGreaterThan(covariance[0][1] ** 2)
          const plain = (a: number, b: number) =>
            list.reduce(
              (sum, { age, failed }) => {
                const log = Math.exp(a) * (Math.log(age) - b)
                return sum + (failed ? a + log - Math.log(age) : 0) - Math.exp(log)
              },
              -0.5 * ((a - prior.logShape.mean) / prior.logShape.sd) ** 2 - 0.5 * ((b - prior.logScale.mean) / prior.logScale.sd) ** 2,
            )
          for (const [a, b] of [
            [0.01, 0],
            [-0.01, 0],
            [0, 0.01],
            [0, -0.01],
          ] as const)
            expect(plain(logShape + a, logScale + b)).toBeLessThanOrEqual(plain(logShape, logScale) + 1e-10)
        },
      ),
    )
  })
})

/** 300 ages (k + 1)^0.7, every second one of failures; each age stands for `parts`. */
const manyParts = (parts: number) => ({
  time: Array.from({ length: 300 }, (_, row) => (row + 1) ** 0.7),
  failed: Array.from({ length: 300 }, (_, row) => row % 2),
  count: Array<number>(300).fill(parts),
})

describe('thousands of failures leave a posterior far narrower than 1/shape', () => {
  it.each([
    [1, 2.3604168971709107, 48.45783813325851, -725.6124401709336],
    [100, 2.36996610694771, 48.15398180676377, -71809.51895403059],
  ])('300 × %d parts (NumPy 2.4, sums over 401 × 401 points of the density)', (parts, meanShape, meanScale, logEvidence) => {
    const found = weibullPosterior(manyParts(parts), { logShape: { mean: 1, sd: 0.5 }, logScale: { mean: 6, sd: 1 } }, [0.5])
    expect(Math.abs(found.meanShape / meanShape - 1)).toBeLessThan(1e-10)
    expect(Math.abs(found.meanScale / meanScale - 1)).toBeLessThan(1e-10)
    expect(Math.abs(found.logEvidence - logEvidence)).toBeLessThan(1e-8)
    expect(found.shapeQuantiles[0]).toBeGreaterThan(meanShape * 0.99)
    expect(found.scaleQuantiles[0]).toBeLessThan(meanScale * 1.01)
  })
})

describe('beliefs beyond all numbers are refused under their name, at once', () => {
  it.each([
    ['logScalePrior.mean', { ...PRIOR, logScale: { mean: 1e308, sd: 1 } }],
    ['logShapePrior.mean', { ...PRIOR, logShape: { mean: -1e9, sd: 1 } }],
    ['logShapePrior.sd', { ...PRIOR, logShape: { mean: 0, sd: 5e-324 } }],
  ])('%s', (field, belief) => {
    expect(() => weibullPosterior(FIVE, belief, LEVELS)).toThrow(InvalidInput)
    expect(() => weibullPosterior(FIVE, belief, LEVELS)).toThrow(field)
  })
})
