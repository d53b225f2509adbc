/** How far shape and scale can be trusted: Wald intervals on the log scale and profile-likelihood intervals. */
import { chiSquareQuantile } from '../special/chi-square.js'
import { requireBetween } from '../special/errors.js'
import { normalQuantile } from '../special/normal.js'
import { bracketOutward, findRoot } from '../special/root.js'
import type { PreparedLife } from './life-data.js'
import { logLikelihoodAt, profileOverScale, scoreAtScale } from './likelihood.js'
import type { WeibullFit } from './weibull-fit.js'

/** null: the data set no limit on that side. */
export type Limits = [number | null, number | null]

/** Beyond e^±300 of the estimate a limit says nothing. */
const FARTHEST = 300

/**
 * value · exp(±z · standard error of its log).
 * Source: Meeker & Escobar, Statistical Methods for Reliability Data, 1998, chapter 8.
 */
export function waldLimits(value: number, logStandardError: number, confidence: number): [number, number] {
  requireBetween('confidence', confidence, 0, 1)
  const factor = Math.exp(normalQuantile((1 + confidence) / 2) * logStandardError)
  return [value / factor, value * factor]
}

function limitsAround(above: (logValue: number) => number, logEstimate: number, standardError: number): Limits {
  const side = (sign: number): number | null => {
    const found = bracketOutward(above, logEstimate, sign * standardError, logEstimate + sign * FARTHEST)
    return found ? Math.exp(findRoot(above, found[0], found[1], 1e-12)) : null
  }
  return [side(-1), side(1)]
}

/** Shapes whose best log-likelihood lies within half a chi-square quantile of the greatest. Source: as above. */
export function shapeProfileLimits(life: PreparedLife, fit: WeibullFit, confidence: number): Limits {
  requireBetween('confidence', confidence, 0, 1)
  const lowest = fit.logLikelihood - chiSquareQuantile(confidence, 1) / 2
  const above = (logShape: number) => profileOverScale(life, Math.exp(logShape)) - lowest
  return limitsAround(above, Math.log(fit.shape), Math.sqrt(fit.logCovariance.shape))
}

/** The same for the scale, in the unit of the ages. */
export function scaleProfileLimits(life: PreparedLife, fit: WeibullFit, confidence: number): Limits {
  requireBetween('confidence', confidence, 0, 1)
  const lowest = fit.logLikelihood - chiSquareQuantile(confidence, 1) / 2
  let near = Math.log(fit.shape)
  const above = (logScale: number) => {
    const relative = logScale - life.logOldest
    near = bestLogShape(life, relative, near)
    return logLikelihoodAt(life, Math.exp(near), relative) - lowest
  }
  return limitsAround(above, Math.log(fit.scale), Math.sqrt(fit.logCovariance.scale))
}

/** ln shape that suits a given scale best, searched outward from a near one. */
function bestLogShape(life: PreparedLife, relativeLogScale: number, near: number): number {
  const falling = (logShape: number) => {
    const value = scoreAtScale(life, Math.exp(logShape), relativeLogScale)
    return Number.isNaN(value) ? -Infinity : Math.max(value, -1e300)
  }
  const rising = falling(near) > 0
  const turned = (logShape: number) => (rising ? falling(logShape) : -falling(logShape))
  const found = bracketOutward(turned, near, rising ? 0.1 : -0.1, near + (rising ? FARTHEST : -FARTHEST))
  return found ? findRoot(falling, found[0], found[1], 1e-10) : near
}
