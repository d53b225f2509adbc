/** A failure rate shrunken towards the fleet's: gamma prior, Poisson counts, so that one bad month does not brand a machine. */
import { requireNotNegative, requirePositive } from '../special/errors.js'
import { gammaQuantile } from '../special/gamma.js'

export interface GammaRate {
  shape: number
  /** In units of exposure. */
  rate: number
}

/** Posterior of a Poisson rate with a gamma prior. Source: conjugate family, e.g. Gelman et al., Bayesian Data Analysis, 2.6. */
export function gammaPoissonPosterior(prior: GammaRate, events: number, exposure: number): GammaRate {
  requirePositive('priorShape', prior.shape)
  requirePositive('priorRate', prior.rate)
  requireNotNegative('events', events)
  requireNotNegative('exposure', exposure)
  return { shape: prior.shape + events, rate: prior.rate + exposure }
}

export const rateQuantile = ({ shape, rate }: GammaRate, probability: number): number => gammaQuantile(probability, shape) / rate

/** Chance of no event in a horizon: (rate / (rate + horizon))^shape. */
export const noneInHorizon = ({ shape, rate }: GammaRate, horizon: number): number => Math.exp(-shape * Math.log1p(horizon / rate))
