import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { normalQuantile } from '../special/normal.js'
import { type LevelBelief, poolLogEstimates, shrinkTowardsGroups } from './pool.js'

const near = (actual: number | undefined, wanted: number, relative: number, absolute = 0): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted) + absolute)

/** Mean and sd of the first group, of the common mean and of a new group by a sum over a fine grid of tau and mean. */
function slowly(y: readonly number[], s: readonly number[], tauScale: number, parent: LevelBelief) {
  let [total, mean, square, own, fresh] = [0, 0, 0, 0, 0]
  for (let tau = 0.0025; tau < 5 * tauScale; tau += 0.005)
    for (let level = parent.mean - 8; level < parent.mean + 8; level += 0.02) {
      let log = -0.5 * (tau / tauScale) ** 2 - 0.5 * ((level - parent.mean) / parent.sd) ** 2
      for (const [index, value] of y.entries()) {
        const variance = tau ** 2 + (s[index] ?? 0) ** 2
        log -= 0.5 * Math.log(variance) + (value - level) ** 2 / (2 * variance)
      }
      const weight = Math.exp(log)
      const share = tau ** 2 / (tau ** 2 + (s[0] ?? 1) ** 2)
      total += weight
      mean += weight * level
      square += weight * level ** 2
      own += weight * (level + share * ((y[0] ?? 0) - level))
      fresh += weight * (level ** 2 + tau ** 2)
    }
  mean /= total
  return { mean, se: Math.sqrt(square / total - mean ** 2), own: own / total, freshSd: Math.sqrt(fresh / total - mean ** 2) }
}

describe('levels drawn together', () => {
  it.each([
    [
      [5.1, 5.9, 4.2],
      [0.2, 0.5, 0.3],
    ],
    [
      [5.1, 5.0],
      [0.4, 0.4],
    ],
    [[6], [0.1]],
    [
      [5, 5.2, 4.9, 5.1, 5, 5.3, 4.8, 5.1, 5, 5.2],
      [0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05],
    ],
  ])('%j ± %j agrees with a sum over a fine grid', (estimates, errors) => {
    const parent = { mean: 5, sd: 0.8 }
    const slow = slowly(estimates, errors, 0.6, parent)
    const pooled = poolLogEstimates(estimates, errors, 0.6, parent)
    near(pooled.mean, slow.mean, 0, 5e-4)
    near(pooled.meanSe, slow.se, 5e-3)
    near(pooled.shrunk[0], slow.own, 0, 5e-4)
    near(pooled.predictive.sd, slow.freshSd, 5e-3)
  })

  it('without a group only the level above speaks, and the spread its prior: sd² = parent² + tauScale²', () => {
    const { predictive, shrunk } = poolLogEstimates([], [], 0.5, { mean: 4, sd: 0.3 })
    near(predictive.mean, 4, 1e-12)
    near(predictive.sd ** 2, 0.09 + 0.25, 1e-3)
    expect(shrunk).toEqual([])
    expect(() => poolLogEstimates([], [], 0.5)).toThrow('estimates')
  })

  it('equal groups still leave a spread: the moment estimate would be 0', () => {
    const { predictive, meanSe } = poolLogEstimates([5, 5, 5], [0.2, 0.2, 0.2], 0.5)
    expect(predictive.sd).toBeGreaterThan(1.5 * meanSe)
  })

  it('ten thousand groups: the nodes follow a narrow posterior to the true spread', () => {
    // Quantiles of a normal with sd 0.4, seen with error 0.3.
    const estimates = Array.from({ length: 10_000 }, (_, index) => 5 + 0.5 * normalQuantile((index + 0.5) / 10_000))
    const { tauNodes, mean } = poolLogEstimates(estimates, new Array<number>(10_000).fill(0.3), 0.6)
    const tau = tauNodes.reduce((sum, node) => sum + node.weight * node.tau, 0)
    near(tau, 0.4, 0.01)
    near(mean, 5, 1e-4)
  })

  it('moves with its unit, and keeps each group between its own level and the mean', () => {
    const group = fc.record({ y: fc.double({ min: -3, max: 3, noNaN: true }), s: fc.double({ min: 0.02, max: 2, noNaN: true }) })
    fc.assert(
      fc.property(fc.array(group, { minLength: 1, maxLength: 9 }), (groups) => {
        const [y, s] = [groups.map((each) => each.y), groups.map((each) => each.s)]
        const plain = poolLogEstimates(y, s, 0.5)
        const moved = poolLogEstimates(
          y.map((value) => value + 7),
          s,
          0.5,
        )
        near(moved.mean, plain.mean + 7, 1e-9)
        near(moved.predictive.sd, plain.predictive.sd, 1e-9)
        const [least, most] = [Math.min(...y), Math.max(...y)]
        for (const value of plain.shrunk) expect(value >= least - 1e-9 && value <= most + 1e-9).toBe(true)
        for (const sd of plain.shrunkSd) expect(sd > 0 && sd <= 2.9).toBe(true)
      }),
      { numRuns: 50 },
    )
  })
})

describe('two levels', () => {
  const scales = { within: 0.5, between: 0.5 }
  const stated = { mean: 6, sd: 0.7 }

  it('a group without evidence takes what its sisters say, one alone what is stated', () => {
    const groups = [
      { estimates: [4, 4.2, 3.9], standardErrors: [0.1, 0.1, 0.1] },
      { estimates: [4.3, 4.1], standardErrors: [0.1, 0.1] },
      { estimates: [], standardErrors: [] },
    ]
    const [, , empty] = shrinkTowardsGroups(groups, scales, stated)
    expect(empty?.predictive.mean).toBeLessThan(5)
    const [alone] = shrinkTowardsGroups([{ estimates: [], standardErrors: [] }], scales, stated)
    near(alone?.predictive.mean, 6, 1e-12)
    expect(alone?.predictive.sd ?? 0).toBeGreaterThan(0.7)
  })

  it('does not count a group’s own evidence twice: alone it is what pooling under the default gives', () => {
    const group = { estimates: [4, 4.4], standardErrors: [0.3, 0.3] }
    const [nested] = shrinkTowardsGroups([group], scales, stated)
    const above = poolLogEstimates([], [], scales.between, stated).predictive
    expect(nested).toEqual(poolLogEstimates(group.estimates, group.standardErrors, scales.within, above))
  })
})
