import { z } from 'zod'
import { inherentAvailability, mtbfLimits, poissonRateLimits } from '../repairable/mtbf.js'
import { gammaPoissonPosterior, noneInHorizon, rateQuantile } from '../repairable/shrunken-rate.js'
import { expectedShort, leastStock, poissonCumulative, uncertainDemandCumulative } from '../stock/poisson.js'
import { cumulativeOf, poissonBinomial } from '../stock/poisson-binomial.js'
import { reorderPointNormal, reorderPointPoisson } from '../stock/reorder.js'
import { type Calculation, defineCalculation } from './calculation.js'
import { closedFraction, notNegative, openFraction, positive, wholeCount } from './fields.js'
import { hierarchyCalculations } from './hierarchy-calculations.js'
import { repairableCalculations } from './repairable-calculations.js'

const LARGEST_LIST = 100_000
const upTo = wholeCount.max(LARGEST_LIST)
const services = z.array(openFraction)
const range = (last: number): number[] => Array.from({ length: last + 1 }, (_, stock) => stock)

const leastStocks = (levels: readonly number[], cumulative: (stock: number) => number): number[] =>
  levels.map((service, index) => leastStock(service, cumulative, `services[${index}]`))

/** Sum of planned replacements and random demand, up to a stock. A stock's chance of random demand is worked out once. */
function togetherCumulative(pmf: readonly number[], mean: number): (stock: number) => number {
  const known: number[] = []
  const random = (stock: number): number =>
    stock > LARGEST_LIST ? poissonCumulative(stock, mean) : (known[stock] ??= poissonCumulative(stock, mean))
  return (stock) => {
    let sum = 0
    for (let planned = 0; planned < pmf.length && planned <= stock; planned++) sum += (pmf[planned] as number) * random(stock - planned)
    return sum
  }
}

export const fleetCalculations: readonly Calculation[] = [
  ...repairableCalculations,
  ...hierarchyCalculations,
  defineCalculation({
    name: 'mtbf-limits',
    summary: 'Mean time between failures with chi-square limits',
    inputs: z.strictObject({
      totalTime: positive,
      failures: wholeCount,
      confidence: openFraction,
      sides: z.enum(['one', 'two']),
      truncation: z.enum(['time', 'failure']),
    }),
    compute: mtbfLimits,
  }),
  defineCalculation({
    name: 'poisson-rate',
    summary: 'A rate from a count, with exact limits',
    inputs: z.strictObject({ count: wholeCount, exposure: positive, confidence: openFraction }),
    compute: ({ count, exposure, confidence }) => poissonRateLimits(count, exposure, confidence),
  }),
  defineCalculation({
    name: 'availability',
    summary: 'Inherent availability from mean times between and to repair',
    inputs: z.strictObject({ mtbf: positive, mttr: notNegative }),
    compute: ({ mtbf, mttr }) => ({ availability: inherentAvailability(mtbf, mttr) }),
  }),
  defineCalculation({
    name: 'gamma-poisson',
    summary: 'A failure rate shrunken towards a prior',
    inputs: z.strictObject({
      priorShape: positive,
      priorRate: positive,
      events: wholeCount,
      exposure: notNegative,
      quantiles: services,
      horizon: notNegative,
    }),
    compute: ({ priorShape, priorRate, events, exposure, quantiles, horizon }) => {
      const posterior = gammaPoissonPosterior({ shape: priorShape, rate: priorRate }, events, exposure)
      return {
        ...posterior,
        mean: posterior.shape / posterior.rate,
        quantiles: quantiles.map((at) => rateQuantile(posterior, at)),
        noneInHorizon: noneInHorizon(posterior, horizon),
      }
    },
  }),
  defineCalculation({
    name: 'poisson-stock',
    summary: 'Poisson demand: cumulative chances, least stock by service level, expected shortage',
    inputs: z.strictObject({ mean: notNegative, upTo, services, backordersUpTo: upTo.optional() }),
    compute: ({ mean, upTo: last, services: levels, backordersUpTo }) => ({
      cumulative: range(last).map((stock) => poissonCumulative(stock, mean)),
      leastStock: leastStocks(levels, (stock) => poissonCumulative(stock, mean)),
      ...(backordersUpTo === undefined ? {} : { expectedShort: range(backordersUpTo).map((stock) => expectedShort(stock, mean)) }),
    }),
  }),
  defineCalculation({
    name: 'poisson-binomial',
    summary: 'How many of several parts fall due, each with its own chance',
    inputs: z.strictObject({ probabilities: z.array(closedFraction).max(2000), services: services.default([]) }),
    compute: ({ probabilities, services: levels }) => {
      const pmf = poissonBinomial(probabilities)
      const cumulative = cumulativeOf(pmf)
      return {
        pmf,
        cumulative,
        mean: probabilities.reduce((sum, p) => sum + p, 0),
        variance: probabilities.reduce((sum, p) => sum + p * (1 - p), 0),
        // Rounding may leave the last sum a little below 1; all parts together always suffice.
        leastStock: leastStocks(levels, (stock) => (stock >= probabilities.length ? 1 : (cumulative[stock] as number))),
      }
    },
  }),
  defineCalculation({
    name: 'poisson-binomial-plus-poisson',
    summary: 'Planned replacements and random demand together',
    inputs: z.strictObject({ probabilities: z.array(closedFraction).max(2000), poissonMean: notNegative, upTo, services }),
    compute: ({ probabilities, poissonMean, upTo: last, services: levels }) => {
      const cumulative = togetherCumulative(poissonBinomial(probabilities), poissonMean)
      return { cumulative: range(last).map(cumulative), leastStock: leastStocks(levels, cumulative) }
    },
  }),
  defineCalculation({
    name: 'stock-uncertain-rate',
    summary: 'Demand whose rate is itself uncertain',
    inputs: z.strictObject({ rateShape: positive, rateRate: positive, horizon: positive, upTo, services }),
    compute: ({ rateShape, rateRate, horizon, upTo: last, services: levels }) => {
      const cumulative = uncertainDemandCumulative(rateShape, rateRate, horizon)
      const known = (rateShape / rateRate) * horizon
      return {
        cumulative: range(last).map(cumulative),
        leastStock: leastStocks(levels, cumulative),
        leastStockIfRateKnown: leastStocks(levels, (stock) => poissonCumulative(stock, known)),
      }
    },
  }),
  defineCalculation({
    name: 'reorder-point-normal',
    summary: 'Reorder point with normal demand and lead time',
    inputs: z.strictObject({
      demandPerDay: notNegative,
      demandSd: notNegative,
      leadDays: notNegative,
      leadSd: notNegative,
      service: openFraction,
    }),
    compute: ({ demandPerDay, demandSd, leadDays, leadSd, service }) =>
      reorderPointNormal(demandPerDay, demandSd, leadDays, leadSd, service),
  }),
  defineCalculation({
    name: 'reorder-point-poisson',
    summary: 'Least reorder point for Poisson demand in a lead time',
    inputs: z.strictObject({ demandPerDay: notNegative, leadDays: positive, service: openFraction }),
    compute: ({ demandPerDay, leadDays, service }) => reorderPointPoisson(demandPerDay, leadDays, service),
  }),
]
