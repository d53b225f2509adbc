import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import jstat from 'jstat'
import { meanCumulativeFunction, repairableFleet } from './fleet.js'
import { groupedPowerLaw } from './grouped.js'
import { repairableTrend } from './trend.js'

const near = (actual: number | null | undefined, wanted: number, relative = 1e-6): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted))

const HANDBOOK = [
  2.6, 16.5, 16.5, 17, 21.4, 29.1, 33.3, 56.5, 63.1, 70.6, 73, 77.7, 93.9, 95.5, 98.1, 101.1, 132, 142.2, 147.7, 149, 167.2, 190.7, 193,
  198.7, 251.9, 282.5, 286.1,
]

describe('one machine', () => {
  it('MIL-HDBK-189 (1981), appendix C: 27 failures in 300 h', () => {
    const { powerLaw } = repairableTrend(HANDBOOK, 'time', 300)
    near(powerLaw?.shape, 0.7163392624, 1e-9)
    near(powerLaw?.rate, 0.4538418614, 1e-9)
    near(powerLaw?.intensityAtEnd, 0.0644705336, 1e-8)
    near(powerLaw?.cramerVonMises, 0.0910611, 1e-6)
    near(powerLaw?.shapeUnbiased, 0.689808, 1e-6)
  })

  it('Modarres et al., Reliability Engineering and Risk Analysis, example 5.11: ended by its 30th failure', () => {
    const times = [
      104, 235, 1832, 1891, 1895, 2398, 2555, 2561, 2679, 2852, 2966, 3028, 3129, 3345, 3451, 3591, 3592, 3694, 3697, 4090, 4186, 4418,
      4507, 4568, 4605, 4898, 4905, 5070, 5157, 5256,
    ]
    const { laplace, powerLaw, end } = repairableTrend(times, 'failure')
    expect(end).toBe(5256)
    near(laplace?.statistic, 2.409, 2e-4)
    near(powerLaw?.shape, 1.588, 1e-4)
    near(powerLaw?.rate, 3.703e-5, 1e-4)
  })

  it('jstat gives the same chances as the two tests', () => {
    const { laplace, chiSquareTrend } = repairableTrend(HANDBOOK, 'time', 300)
    near(laplace?.pValue, 2 * jstat.normal.cdf(-Math.abs(laplace?.statistic ?? 0), 0, 1), 1e-6)
    const below = jstat.chisquare.cdf(chiSquareTrend?.statistic ?? 0, 54)
    near(chiSquareTrend?.pValue, 2 * Math.min(below, 1 - below), 1e-6)
  })

  it('no failure has an upper limit of the rate only; a lone one that ended the watch tells no trend', () => {
    expect(repairableTrend([], 'time', 1000)).toMatchObject({
      powerLaw: null,
      laplace: null,
      chiSquareTrend: null,
      constant: { mtbf: null },
    })
    near(repairableTrend([], 'time', 1000).constant.rateUpper95, -Math.log(0.05) / 1000, 1e-12)
    expect(repairableTrend([70], 'failure')).toMatchObject({ powerLaw: null, laplace: null, constant: { mtbf: 70 } })
    expect(repairableTrend([15, 15], 'time', 15).powerLaw).toBeNull()
  })

  it.each([
    [[10, 20], 'time', 15, 'failureTimes[1] must not lie after'],
    [[0, 20], 'time', 25, 'failureTimes[0]'],
    [[-1], 'time', 25, 'failureTimes[0]'],
    [[Number.NaN], 'time', 25, 'failureTimes[0]'],
    [[5], 'time', undefined, 'end must be given'],
    [[5], 'failure', 9, 'end must be the last failure'],
    [[], 'failure', undefined, 'failureTimes must hold'],
  ] as const)('refuses %j %s %s', (times, truncation, end, why) => expect(() => repairableTrend(times, truncation, end)).toThrow(why))

  const ages = fc.array(fc.double({ min: 1, max: 999, noNaN: true }), { minLength: 2, maxLength: 30 })

  it('does not care for the order or the unit of time', () => {
    fc.assert(
      fc.property(ages, fc.double({ min: 0.01, max: 100, noNaN: true }), (times, unit) => {
        const given = [...times]
        const plain = repairableTrend(times, 'time', 1000)
        const other = repairableTrend(times.map((time) => time * unit).toReversed(), 'time', 1000 * unit)
        near(other.powerLaw?.shape, plain.powerLaw?.shape ?? 0, 1e-9)
        near(other.powerLaw?.scale, (plain.powerLaw?.scale ?? 0) * unit, 1e-9)
        near((other.laplace?.statistic ?? 0) + 100, (plain.laplace?.statistic ?? 0) + 100, 1e-9)
        expect(times).toEqual(given)
      }),
    )
  })

  it('no other shape is more likely', () => {
    fc.assert(
      fc.property(ages, fc.double({ min: 0.3, max: 3, noNaN: true }), (times, factor) => {
        const fit = repairableTrend(times, 'time', 1000).powerLaw
        if (!fit) return
        const likelihood = (shape: number): number => {
          // By logarithms: where all failures come at the end the shape is in the hundreds, and 1000 ** shape is no number any more.
          const logOfRateTimesShape = Math.log(times.length) - shape * Math.log(1000) + Math.log(shape)
          return times.reduce((sum, time) => sum + logOfRateTimesShape + (shape - 1) * Math.log(time), 0) - times.length
        }
        near(fit.logLikelihood, likelihood(fit.shape), 1e-8)
        expect(likelihood(fit.shape * factor)).toBeLessThanOrEqual(fit.logLikelihood + 1e-9)
      }),
    )
  })
})

describe('several machines', () => {
  it('of one end are one machine with all failures, apart from the rate', () => {
    const halves = [HANDBOOK.filter((_, index) => index % 2 === 0), HANDBOOK.filter((_, index) => index % 2 === 1)]
    const fleet = repairableFleet(halves, [300, 300])
    const one = repairableTrend(HANDBOOK, 'time', 300)
    near(fleet.powerLaw?.shape, one.powerLaw?.shape ?? 0, 1e-10)
    near(fleet.powerLaw?.rate, (one.powerLaw?.rate ?? 0) / 2, 1e-10)
    near(fleet.laplacePooled?.statistic, one.laplace?.statistic ?? 0, 1e-10)
    near(fleet.chiSquareTrendPooled?.statistic, one.chiSquareTrend?.statistic ?? 0, 1e-10)
  })

  it('unequal ends: no other shape and rate are more likely', () => {
    const systems = [[120, 300], [], [80, 410, 460], [900]]
    const ends = [500, 350, 480, 1000]
    const likelihood = (shape: number, rate: number): number =>
      systems.flat().reduce((sum, time) => sum + Math.log(rate * shape * time ** (shape - 1)), 0) -
      rate * ends.reduce((sum, end) => sum + end ** shape, 0)
    const law = repairableFleet(systems, ends).powerLaw
    if (!law) throw new Error('no fit')
    near(law.logLikelihood, likelihood(law.shape, law.rate), 1e-10)
    for (const [a, b] of [
      [1.01, 1],
      [0.99, 1],
      [1, 1.01],
      [1, 0.99],
      [1.05, 0.8],
    ] as const)
      expect(likelihood(law.shape * a, law.rate * b)).toBeLessThan(law.logLikelihood)
  })

  it('the mean cumulative function counts ties once and those that end at a time as watched', () => {
    expect(
      meanCumulativeFunction([
        { failures: [2, 5], end: 5 },
        { failures: [5], end: 9 },
      ]),
    ).toEqual([
      { time: 2, atRisk: 2, failures: 1, mean: 0.5 },
      { time: 5, atRisk: 2, failures: 2, mean: 1.5 },
    ])
  })

  it('nothing failed, or only at the very end', () => {
    expect(repairableFleet([[], []], [10, 20])).toMatchObject({ powerLaw: null, laplacePooled: null, meanCumulative: [] })
    expect(repairableFleet([[10]], [10]).powerLaw).toBeNull()
    expect(() => repairableFleet([[1], [2]], [10])).toThrow('ends')
    expect(() => repairableFleet([[1], [22]], [10, 20])).toThrow('systems[1][0]')
  })
})

describe('counts per interval', () => {
  it('MIL-HDBK-189 (1981), grouped data: 13, 16, 5, 8, 7 failures in steps of 20 h', () => {
    const fit = groupedPowerLaw([20, 40, 60, 80, 100], [13, 16, 5, 8, 7])
    near(fit.shape, 0.752851)
    near(fit.rate, 1.529306)
    near(fit.intensityAtEnd, 0.3688969)
    near(fit.instantaneousMtbf, 2.710784)
  })

  it('ever finer intervals tend to the failures themselves', () => {
    // No failure lies on an edge: they have one decimal, the edges end in 5.
    const ends = [...Array.from({ length: 30_000 }, (_, index) => (index + 0.5) / 100), 300]
    const counts = new Array<number>(ends.length).fill(0)
    for (const time of HANDBOOK) counts[Math.round(time * 100)]! += 1
    near(groupedPowerLaw(ends, counts).shape, 0.7163392624, 1e-3)
  })

  it.each([
    [[10], [3], 'one-interval'],
    [[10, 20], [0, 0], 'no-failures'],
    [[10, 20], [4, 0], 'failures-only-in-first-interval'],
    [[10, 20], [0, 4], 'failures-only-in-last-interval'],
  ])('%j %j has no finite shape: %s', (ends, counts, reason) =>
    expect(groupedPowerLaw(ends, counts)).toMatchObject({ shape: null, reason }),
  )

  it('refuses what does not fit', () => {
    expect(() => groupedPowerLaw([10, 10], [1, 1])).toThrow('intervalEnds[1]')
    expect(() => groupedPowerLaw([10, 20], [1])).toThrow('counts')
    expect(() => groupedPowerLaw([10, 20], [1, 0.5])).toThrow('counts[1]')
  })
})
