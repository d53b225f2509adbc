/** Poisson and negative binomial demand for parts, and the least stock that meets a service level. */
import { betaCdf } from '../special/beta.js'
import { InvalidInput, requireNotNegative, requirePositive } from '../special/errors.js'
import { gammaLower, gammaUpper, logGamma } from '../special/gamma.js'

/** P(demand ≤ stock) = Q(stock + 1, mean). Source: DLMF 8.4.10. */
export function poissonCumulative(stock: number, mean: number): number {
  requireNotNegative('mean', mean)
  if (stock < 0) return 0
  return mean === 0 ? 1 : gammaUpper(stock + 1, mean)
}

export function poissonProbability(count: number, mean: number): number {
  if (mean === 0) return count === 0 ? 1 : 0
  return Math.exp(count * Math.log(mean) - mean - logGamma(count + 1))
}

/** Mean demand beyond the stock: mean · P(demand ≥ stock) − stock · P(demand > stock), without cancellation in the tail. */
export function expectedShort(stock: number, mean: number): number {
  if (mean === 0) return 0
  if (stock === 0) return mean
  if (stock < mean) return mean * gammaLower(stock, mean) - stock * gammaLower(stock + 1, mean)
  let sum = 0
  for (let demand = stock + 1; ; demand++) {
    const term = (demand - stock) * poissonProbability(demand, mean)
    sum += term
    if (term <= sum * 1e-17 || demand > stock + 10_000) return sum
  }
}

/** A larger stock is no answer. */
const LARGEST_STOCK = 2 ** 40

/**
 * Least whole stock whose cumulative chance reaches the service level; the cumulative rises to 1.
 * @param field the service level's name in the question
 * @throws InvalidInput where it would take more than 2^40
 */
export function leastStock(service: number, cumulative: (stock: number) => number, field = 'service'): number {
  let high = 1
  if (cumulative(0) >= service) return 0
  while (cumulative(high) < service) {
    if (high >= LARGEST_STOCK) throw new InvalidInput(field, `is not reached with a stock of ${LARGEST_STOCK}: the demand is too large`)
    high *= 2
  }
  let low = high / 2
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2)
    if (cumulative(middle) >= service) high = middle
    else low = middle
  }
  return high
}

/**
 * Demand in a horizon whose rate is gamma distributed: negative binomial. P(N ≤ stock) = I(rate/(rate + horizon); shape, stock + 1),
 * which holds where the chance of no demand at all is too small for a number. Source: DLMF 8.17.5.
 */
export function uncertainDemandCumulative(shape: number, rate: number, horizon: number): (stock: number) => number {
  requirePositive('rateShape', shape)
  requirePositive('rateRate', rate)
  requirePositive('horizon', horizon)
  return (stock) => (stock < 0 ? 0 : betaCdf(rate / (rate + horizon), shape, stock + 1))
}
