import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { inherentAvailability, mtbfLimits, poissonRateLimits } from './repairable/mtbf.js'
import { gammaPoissonPosterior, noneInHorizon, rateQuantile } from './repairable/shrunken-rate.js'
import { expectedShort, leastStock, poissonCumulative, poissonProbability, uncertainDemandCumulative } from './stock/poisson.js'
import { cumulativeOf, poissonBinomial } from './stock/poisson-binomial.js'
import { reorderPointNormal, reorderPointPoisson } from './stock/reorder.js'

const near = (actual: number | null, wanted: number, relative = 1e-6): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted))

describe('repairable machines', () => {
  it('NIST/SEMATECH e-Handbook 8.4.5.1: 800 hours, 2 failures, 90 %: 127.069 to 2251.229', () => {
    const limits = mtbfLimits({ totalTime: 800, failures: 2, confidence: 0.9, sides: 'two', truncation: 'time' })
    near(limits.mtbf, 400)
    near(limits.lower, 127.069)
    near(limits.upper, 2251.229)
  })

  it('without a failure gives a lower limit only, and needs a failure where one ended the observation', () => {
    const none = mtbfLimits({ totalTime: 1000, failures: 0, confidence: 0.9, sides: 'one', truncation: 'time' })
    expect(none).toMatchObject({ mtbf: null, upper: null })
    near(none.lower, 1000 / Math.log(10), 1e-12)
    expect(() => mtbfLimits({ totalTime: 1000, failures: 0, confidence: 0.9, sides: 'one', truncation: 'failure' })).toThrow('failures')
    expect(() => mtbfLimits({ totalTime: Number.NaN, failures: 1, confidence: 0.9, sides: 'one', truncation: 'time' })).toThrow('totalTime')
  })

  it('Garwood 1936: 10 events, 95 %: 4.7954 to 18.3904', () => {
    const limits = poissonRateLimits(10, 1, 0.95)
    near(limits.lower, 4.795388696, 1e-9)
    near(limits.upper, 18.39035604, 1e-9)
    expect(poissonRateLimits(0, 5, 0.95).lower).toBe(0)
  })

  it('limits hold the estimate and tighten with more data', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 400 }), fc.double({ min: 1, max: 1e6, noNaN: true }), (failures, totalTime) => {
        const wide = mtbfLimits({ totalTime, failures, confidence: 0.95, sides: 'two', truncation: 'time' })
        const tight = mtbfLimits({ totalTime, failures, confidence: 0.8, sides: 'two', truncation: 'time' })
        expect(wide.lower < tight.lower && tight.lower < (tight.mtbf as number) && (tight.upper as number) < (wide.upper as number)).toBe(
          true,
        )
      }),
    )
    near(inherentAvailability(500, 5), 500 / 505, 1e-15)
  })

  it('a shrunken rate lies between prior and data, and its predictive none agrees with integration', () => {
    const posterior = gammaPoissonPosterior({ shape: 2, rate: 500 }, 3, 1800)
    expect(posterior).toEqual({ shape: 5, rate: 2300 })
    let integral = 0
    for (let index = 0; index < 4000; index++) integral += Math.exp(-1000 * rateQuantile(posterior, (index + 0.5) / 4000)) / 4000
    near(noneInHorizon(posterior, 1000), integral, 1e-4)
  })
})

describe('stock', () => {
  it('Poisson cumulative is the sum of its terms, and the shortage the sum of what is beyond', () => {
    for (const mean of [0.1, 1, 7.3, 42]) {
      let sum = 0
      for (let stock = 0; stock <= 60; stock++) {
        sum += poissonProbability(stock, mean)
        near(poissonCumulative(stock, mean), sum, 1e-10)
        let short = 0
        for (let demand = stock + 1; demand < 400; demand++) short += (demand - stock) * poissonProbability(demand, mean)
        near(expectedShort(stock, mean), short, 1e-8)
      }
    }
    expect(leastStock(0.95, (stock) => poissonCumulative(stock, 0.84))).toBe(3)
  })

  it('Poisson–binomial equals enumeration of all outcomes', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 9 }), (probabilities) => {
        const counted = new Array<number>(probabilities.length + 1).fill(0)
        for (let mask = 0; mask < 2 ** probabilities.length; mask++) {
          let chance = 1
          let count = 0
          for (const [index, probability] of probabilities.entries()) {
            const happens = (mask >> index) & 1
            chance *= happens ? probability : 1 - probability
            count += happens
          }
          counted[count] = (counted[count] as number) + chance
        }
        for (const [count, chance] of poissonBinomial(probabilities).entries())
          expect(Math.abs(chance - (counted[count] as number))).toBeLessThan(1e-12)
      }),
    )
    expect(cumulativeOf(poissonBinomial([0.5, 0.5]))).toEqual([0.25, 0.75, 1])
    expect(() => poissonBinomial([0.5, 1.5])).toThrow('probabilities[1]')
  })

  it('an uncertain rate asks for no less stock than the same rate known', () => {
    const uncertain = uncertainDemandCumulative(5, 2300, 1000)
    near(uncertain(0), 0.1644634819, 1e-9)
    for (const service of [0.8, 0.95, 0.99])
      expect(leastStock(service, uncertain)).toBeGreaterThanOrEqual(leastStock(service, (stock) => poissonCumulative(stock, 5 / 2.3)))
  })

  it('Render, Stair and Hanna, Hardware Warehouse: 5 a day, sd 2, 3 days, 95 %: reorder at 20.7', () => {
    near(reorderPointNormal(5, 2, 3, 0, 0.95).reorderPoint, 20.69794011, 1e-9)
    expect(reorderPointPoisson(0.04, 21, 0.95)).toMatchObject({ reorderPoint: 3 })
  })
})
