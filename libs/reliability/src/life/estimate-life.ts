/** The life of a part type: the trade's range where there is nothing else, drawn towards the data as they come in. */
import { groupedMode } from './grouped-mode.js'
import { prepareLife } from './life-data.js'
import { usableRecords, type PartRecord } from './part-records.js'
import { posteriorMode } from './posterior-mode.js'
import type { WeibullPrior } from './prior.js'
import { fitPrepared } from './weibull-fit.js'
import { shapeProfileLimits } from './weibull-intervals.js'

export interface LifeEstimate {
  /** Posterior mode. */
  shape: number
  /** In the unit of the ages. */
  scale: number
  /** Covariance of ln shape and ln scale at the mode. */
  logCovariance: [[number, number], [number, number]]
  /** Records that took part. */
  parts: number
  failures: number
  withoutAge: number
  beforeRegistration: number
  /** One-sided lower 95 % bound of the shape by profile likelihood, from the data alone; null where they give none. */
  shapeLower95: number | null
}

/**
 * Posterior mode of ln shape and ln scale. Without usable records it is the prior itself.
 * Source: design of the priors in `prior.ts`; mode by Newton-like root search, see `posterior-mode.ts`.
 * @param earlyUntil of failures before this age counts only that they were early, see `grouped-mode.ts`; 0: each by its age
 */
export function estimateLife(records: readonly PartRecord[], prior: WeibullPrior, oldListComplete = false, earlyUntil = 0): LifeEstimate {
  const { data, withoutAge, beforeRegistration } = usableRecords(records, oldListComplete)
  if (data.time.length === 0) return { ...fromPriorAlone(prior), withoutAge, beforeRegistration }
  const life = prepareLife(data)
  const early = Array.from(data.time).some((age, index) => data.failed[index] && age < earlyUntil)
  const mode = early ? groupedMode(data, prior, earlyUntil) : posteriorMode(life, prior)
  const fit = fitPrepared(life)
  return {
    shape: Math.exp(mode.logShape),
    scale: Math.exp(mode.logScale),
    logCovariance: mode.covariance,
    parts: life.parts,
    failures: life.failures,
    withoutAge,
    beforeRegistration,
    // The lower end of a two-sided 90 % interval is the one-sided 95 % bound
    shapeLower95: fit.finite ? shapeProfileLimits(life, fit, 0.9)[0] : null,
  }
}

function fromPriorAlone({ logShape, logScale }: WeibullPrior): Omit<LifeEstimate, 'withoutAge' | 'beforeRegistration'> {
  return {
    shape: Math.exp(logShape.mean),
    scale: Math.exp(logScale.mean),
    logCovariance: [
      [logShape.sd ** 2, 0],
      [0, logScale.sd ** 2],
    ],
    parts: 0,
    failures: 0,
    shapeLower95: null,
  }
}
