/** Large arguments near each other, where @stdlib's own answers were off by up to 15 %. Values: R's pgamma and qgamma. */
import { describe, expect, it } from '@jest/globals'
import { fleetCalculations } from '../desk/fleet-calculations.js'
import { mtbfLimits } from '../repairable/mtbf.js'
import { leastStock, poissonCumulative, uncertainDemandCumulative } from '../stock/poisson.js'
import { gammaLower, gammaQuantile, gammaUpper, gammaUpperQuantile } from './gamma.js'

const apart = (value: number, wanted: number): number => Math.abs(value - wanted) / Math.abs(wanted)

/** shape, x, P, Q */
const CHANCES: [number, number, number, number][] = [
  [900, 1050, 0.9999990195531437, 9.804468563532186e-7],
  [990, 990, 0.5042264296596231, 0.4957735703403771],
  [1001, 1001, 0.5042031431105558, 0.4957968568894442],
  [2000, 1955.27864045, 0.1586347636615888, 0.8413652363384112],
  [2000, 2000, 0.5029735484442025, 0.4970264515557974],
  [2000, 2223.6, 0.9999993247955431, 6.752044568444993e-7],
  [100_000, 100_000, 0.5004205221103651, 0.4995794778896348],
  [100_000, 99_000, 0.0007574199211747671, 0.9992425800788253],
  [1e6, 992_000, 5.240122815430878e-16, 0.9999999999999994],
  [1e6, 1_000_300, 0.6180271033880081, 0.3819728966119919],
]

/** chance, shape, quantile below, quantile exceeded */
const QUANTILES: [number, number, number, number][] = [
  [1e-8, 500, 384.4978613941907, 635.8161435852171],
  [0.5, 999, 998.6666864467525, 998.6666864467525],
  [0.05, 1001, 949.533845394138, 1053.603122133301],
  [1e-12, 1001, 794.3281703650051, 1239.975544394337],
  [0.975, 2000, 2088.595528143092, 1913.29870962563],
  [0.5, 1e6, 999_999.6666666864, 999_999.6666666864],
  [1e-8, 1e6, 994_398.1597861212, 1_005_622.169911336],
]

describe('the incomplete gamma function against R, 1e-10 relative in both tails', () => {
  it.each(CHANCES)('of shape %p at %p', (shape, x, lower, upper) => {
    expect(apart(gammaLower(shape, x), lower)).toBeLessThan(1e-10)
    expect(apart(gammaUpper(shape, x), upper)).toBeLessThan(1e-10)
  })

  it.each(QUANTILES)('and its inverses at %p of shape %p', (chance, shape, below, exceeded) => {
    expect(apart(gammaQuantile(chance, shape), below)).toBeLessThan(1e-12)
    expect(apart(gammaUpperQuantile(chance, shape), exceeded)).toBeLessThan(1e-12)
  })

  it('joins the range of the library without a step', () => {
    for (const shape of [0.5, 5, 100, 700, 990, 1200]) {
      const [before, after] = [gammaUpper(shape, 989.999999), gammaUpper(shape, 990.000001)]
      if (before > 0) expect(apart(after, before)).toBeLessThan(1e-5)
    }
  })
})

describe('what stands on it', () => {
  it('limits after 1000 failures; R: 2·1000/qchisq(c(0.95, 0.05), c(2002, 2000))', () => {
    const limits = mtbfLimits({ totalTime: 1000, failures: 1000, confidence: 0.9, sides: 'two', truncation: 'time' })
    expect(apart(limits.lower, 0.9491239908014254)).toBeLessThan(1e-9)
    expect(apart(limits.upper as number, 1.0542297364259865)).toBeLessThan(1e-9)
  })

  it('the median of a demand of 5000 is 5000 (R: qpois(0.5, 5000))', () => {
    expect(leastStock(0.5, (stock) => poissonCumulative(stock, 5000))).toBe(5000)
  })

  it('an uncertain demand so large that none at all has chance 0 (R: qnbinom(0.95, 1000, 1/11), pnbinom(10000, 1000, 1/11))', () => {
    const cumulative = uncertainDemandCumulative(1000, 1, 10)
    expect(leastStock(0.95, cumulative)).toBe(10_551)
    expect(apart(cumulative(10_000), 0.504811387707)).toBeLessThan(1e-10)
  })

  it('all parts together suffice for any level, whatever rounding leaves of the last sum', () => {
    const desk = fleetCalculations.find(({ name }) => name === 'poisson-binomial')
    // The sum of these chances ends at 0.9999999999999998.
    const probabilities = Array.from({ length: 5 }, (_, index) => 0.1 + index / 30)
    const answer = desk?.answer({ probabilities, services: [1 - 2 ** -53, 0.5] }) as { leastStock: number[] }
    expect(answer.leastStock).toEqual([5, 1])
  })

  it('a demand beyond all measure is answered or refused at once: Q(n + 1, x) is 0 for x far above n (DLMF 8.11.2)', () => {
    expect([poissonCumulative(5, 1e308), gammaUpper(1e12, 1e300), gammaLower(1e12, 1000)]).toEqual([0, 0, 0])
    expect([gammaLower(3, 1e300), gammaUpper(1e12, 1000)]).toEqual([1, 1])
    const desk = fleetCalculations.find(({ name }) => name === 'poisson-stock')
    expect(() => desk?.answer({ mean: 1e308, upTo: 3, services: [0.9] })).toThrow('services[0] is not reached')
  })

  it('2000 parts of one chance and 20 000 stocks (SciPy 1.17: binom.cdf(620, 2000, 0.3), binom.ppf(0.95, 2000, 0.3))', () => {
    const desk = fleetCalculations.find(({ name }) => name === 'poisson-binomial-plus-poisson')
    const asked = { probabilities: Array<number>(2000).fill(0.3), poissonMean: 0, upTo: 20_000, services: [0.95] }
    const answer = desk?.answer(asked) as { cumulative: number[]; leastStock: number[] }
    expect(answer.cumulative.length).toBe(20_001)
    expect(apart(answer.cumulative[620] as number, 0.8414201784182036)).toBeLessThan(1e-10)
    expect(answer.leastStock).toEqual([634])
  })

  it('a stock beyond all measure is refused, not told', () => {
    expect(() => leastStock(0.95, uncertainDemandCumulative(1e6, 1e-3, 1e5))).toThrow('service')
  })
})
