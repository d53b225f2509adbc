import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { restrictedTau2 } from './between-variance.js'
import { effectsGivenTau, logMarginal } from './given-tau.js'
import { hierarchicalNormal } from './hierarchical-normal.js'
import { hierarchicalMeans } from './means.js'
import { shrinkNormal } from './shrinkage-normal.js'
import { shrinkProportions } from './shrinkage-proportions.js'
import { tauPosterior } from './tau-posterior.js'

const near = (actual: number | null | undefined, wanted: number, relative = 1e-6, absolute = 0): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted) + absolute)

const SCHOOLS = [28, 8, -3, 7, -1, 1, 18, 12]
const ERRORS = [15, 10, 16, 11, 9, 11, 10, 18]
const numbers = fc.double({ min: -100, max: 100, noNaN: true })
const groupsOf = (least: number) =>
  fc.array(fc.record({ y: numbers, s: fc.double({ min: 0.1, max: 30, noNaN: true }) }), { minLength: least, maxLength: 12 })

describe('known standard errors', () => {
  it('Gelman et al., Bayesian Data Analysis, table 5.3: eight schools', () => {
    const { fixedMean, fixedStandardError, effectQuantiles } = hierarchicalNormal(SCHOOLS, ERRORS, [], [0.025, 0.25, 0.5, 0.75, 0.975])
    near(fixedMean, 7.7, 0, 0.05)
    near(fixedStandardError, 4.1, 0, 0.05)
    const published = { 0: [-2, 7, 10, 16, 31], 2: [-11, 2, 7, 11, 19] }
    for (const [school, wanted] of Object.entries(published))
      for (const [index, value] of wanted.entries()) near(effectQuantiles[Number(school)]?.[index], value, 0, 2)
  })

  it('the posterior of tau equals a slow sum over a fine grid', () => {
    const step = 0.002
    let [below, total] = [0, 0]
    const median = hierarchicalNormal(SCHOOLS, ERRORS, [], [0.5]).tauQuantiles[0] ?? 0
    for (let tau = step / 2; tau < 2000; tau += step) {
      const density = Math.exp(logMarginal(SCHOOLS, ERRORS, tau))
      total += density
      if (tau < median) below += density
    }
    near(below / total, 0.5, 0, 2e-4)
  })

  it('weights are chances, also for wide errors beside narrow ones and under a half-normal prior', () => {
    for (const prior of [undefined, (tau: number) => -0.5 * (tau / 2) ** 2]) {
      const { nodes, quantile } = tauPosterior([1, 1, 1, 2], [0.01, 10, 16, 1000], prior)
      near(
        nodes.reduce((sum, { weight }) => sum + weight, 0),
        1,
        1e-12,
      )
      const at = quantile(0.3)
      near(
        nodes.reduce((sum, { tau, weight }) => sum + (tau <= at ? weight : 0), 0),
        0.3,
        0,
        0.05,
      )
    }
  })

  it('no spread gives all the mean, a great one each its own', () => {
    fc.assert(
      fc.property(groupsOf(2), (groups) => {
        const [y, s] = [groups.map((each) => each.y), groups.map((each) => each.s)]
        const none = effectsGivenTau(y, s, 0)
        for (const effect of none.effects) near(effect, none.mean, 0, 1e-9)
        for (const [index, effect] of effectsGivenTau(y, s, 1e9).effects.entries()) near(effect, y[index] ?? 0, 0, 1e-6)
      }),
    )
  })

  it('restricted likelihood: no other variance is more likely, on a sweep', () => {
    fc.assert(
      fc.property(groupsOf(2), (groups) => {
        const [y, s] = [groups.map((each) => each.y), groups.map((each) => each.s)]
        const best = logMarginal(y, s, Math.sqrt(restrictedTau2(y, s)))
        for (let log = -12; log < 14; log += 0.25) expect(logMarginal(y, s, Math.exp(log / 2))).toBeLessThanOrEqual(best + 1e-8)
        expect(logMarginal(y, s, 0)).toBeLessThanOrEqual(best + 1e-12)
      }),
    )
  })

  it('Paule–Mandel puts Q on its degrees of freedom, and every shrunk value lies between its own and the mean', () => {
    fc.assert(
      fc.property(groupsOf(2), (groups) => {
        const [y, s] = [groups.map((each) => each.y), groups.map((each) => each.s)]
        const found = shrinkNormal(y, s)
        if (found.pauleMandelTau2 > 0) {
          const { mean } = effectsGivenTau(y, s, Math.sqrt(found.pauleMandelTau2))
          const q = y.reduce((sum, value, index) => sum + (value - mean) ** 2 / (found.pauleMandelTau2 + (s[index] ?? 0) ** 2), 0)
          near(q, y.length - 1, 1e-8)
        }
        for (const [index, value] of found.dl.shrunk.entries()) {
          const [low, high] = [Math.min(y[index] ?? 0, found.dl.mean), Math.max(y[index] ?? 0, found.dl.mean)]
          expect(value >= low - 1e-9 && value <= high + 1e-9).toBe(true)
        }
      }),
    )
  })

  it('refuses what does not fit', () => {
    expect(() => shrinkNormal([1, 2], [1])).toThrow('standardErrors')
    expect(() => shrinkNormal([1, 2], [1, 0])).toThrow('standardErrors[1]')
    expect(() => shrinkNormal([1, Number.NaN], [1, 1])).toThrow('estimates[1]')
    expect(() => hierarchicalNormal([1, 2], [1, 1], [], [])).toThrow('at least 3')
  })
})

describe('shares', () => {
  it('Efron & Morris 1977: factor 0.212, the best hitter 0.294', () => {
    const hits = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
    const { factor, grandMean, shrunk } = shrinkProportions(
      hits.map((hit) => hit / 45),
      45,
    )
    near(factor, 0.212, 0, 5e-4)
    near(grandMean, 0.265, 0, 5e-4)
    near(shrunk[0], 0.294, 0, 5e-4)
  })

  it('never goes beyond the mean, and equal shares stay', () => {
    const close = shrinkProportions([0.5, 0.51, 0.5, 0.49], 10)
    expect(close.factor).toBeLessThan(0)
    for (const share of close.shrunk) near(share, 0.5, 1e-12)
    expect(shrinkProportions([0.2, 0.2, 0.2, 0.2], 10)).toMatchObject({ factor: null, positivePartFactor: 0 })
    expect(() => shrinkProportions([0.2, 0.3, 0.4], 10)).toThrow('proportions')
    expect(() => shrinkProportions([0.2, 0.3, 0.4, 1.4], 10)).toThrow('proportions[3]')
  })
})

describe('measured several times', () => {
  const RAIL = [
    [55, 53, 54],
    [26, 37, 32],
    [78, 91, 85],
    [92, 100, 96],
    [49, 51, 50],
    [80, 85, 83],
  ]

  it('Pinheiro & Bates 2000, rails: 66.5 ± 10.17104, sds 24.80547 and 4.020779, log-likelihood −61.0885', () => {
    const fit = hierarchicalMeans(RAIL)
    near(fit.grandMean, 66.5)
    near(fit.grandMeanStandardError, 10.17104)
    near(Math.sqrt(fit.varianceBetween), 24.80547)
    near(Math.sqrt(fit.varianceWithin), 4.020779)
    near(fit.restrictedLogLikelihood, -61.0885)
  })

  it('unequal groups: the iteration meets the closed form when one value more hardly counts', () => {
    const equal = hierarchicalMeans(RAIL)
    const nearly = hierarchicalMeans([...RAIL.slice(0, 5), [80, 85, 83, 82.6666]])
    near(nearly.varianceBetween, equal.varianceBetween, 0.01)
    expect(nearly.weight).toBeNull()
    expect(nearly.weights[5]).toBeGreaterThan(nearly.weights[4] ?? 1)
  })

  it('unequal groups: no other pair of variances is more likely by the dense formula', () => {
    const groups = [[1.2, 1.9], [3.1, 2.8, 3.5, 2.9], [5.2], [2.2, 2.9, 1.7]]
    const fit = hierarchicalMeans(groups)
    const likelihood = (between: number, within: number): number => {
      let [logs, squares, precision, moment] = [0, 0, 0, 0]
      for (const values of groups) {
        const mean = values.reduce((a, b) => a + b, 0) / values.length
        const variance = between + within / values.length
        logs += (values.length - 1) * Math.log(within) + Math.log(values.length * variance)
        squares += values.reduce((a, b) => a + (b - mean) ** 2, 0) / within + mean ** 2 / variance
        precision += 1 / variance
        moment += mean / variance
      }
      const count = groups.flat().length
      return -((count - 1) * Math.log(2 * Math.PI) + logs + Math.log(precision) + squares - moment ** 2 / precision) / 2
    }
    near(fit.restrictedLogLikelihood, likelihood(fit.varianceBetween, fit.varianceWithin), 1e-10)
    for (const [a, b] of [
      [1.02, 1],
      [0.98, 1],
      [1, 1.02],
      [1, 0.98],
    ] as const)
      expect(likelihood(fit.varianceBetween * a, fit.varianceWithin * b)).toBeLessThan(fit.restrictedLogLikelihood)
  })

  it('groups no further apart than chance leave nothing between them', () => {
    const fit = hierarchicalMeans([
      [1, 5],
      [2, 4],
      [3, 3.1],
    ])
    expect(fit.varianceBetween).toBe(0)
    for (const mean of fit.shrunk) near(mean, fit.grandMean, 1e-12)
    expect(() => hierarchicalMeans([[1], [2]])).toThrow('at least 2 values')
    expect(() =>
      hierarchicalMeans([
        [1, 1],
        [2, 2],
      ]),
    ).toThrow('scatter')
    expect(() => hierarchicalMeans([[1, 1]])).toThrow('groups')
  })
})
