/** Lines of several groups measured at the same points, each drawn towards the common line. */
import { InvalidInput, requireFinite } from '../special/errors.js'
import { add, eigenOfSymmetric, inverse, type Matrix2, multiply, scale, transpose } from './matrix2.js'

interface OwnLines {
  /** Intercept and slope of each group by least squares. */
  lines: readonly (readonly [number, number])[]
  /** Sum of squares about those lines. */
  residual: number
  /** (X'X)⁻¹ */
  precision: Matrix2
  determinant: number
}

function fitOwn(x: readonly number[], groups: readonly (readonly number[])[]): OwnLines {
  const count = x.length
  const mean = x.reduce((a, b) => a + b, 0) / count
  const spread = x.reduce((sum, each) => sum + (each - mean) ** 2, 0)
  if (spread === 0) throw new InvalidInput('x', 'must hold at least two different values')
  let residual = 0
  const lines = groups.map((y): [number, number] => {
    const level = y.reduce((a, b) => a + b, 0) / count
    const slope = y.reduce((sum, each, index) => sum + ((x[index] as number) - mean) * (each - level), 0) / spread
    residual += y.reduce((sum, each, index) => sum + (each - level - slope * ((x[index] as number) - mean)) ** 2, 0)
    return [level - slope * mean, slope]
  })
  const precision: Matrix2 = [1 / count + mean ** 2 / spread, -mean / spread, -mean / spread, 1 / spread]
  return { lines, residual, precision, determinant: count * spread }
}

function meanOf(lines: OwnLines['lines']): [number, number] {
  const [a, b] = lines.reduce<[number, number]>((sums, line) => [sums[0] + line[0], sums[1] + line[1]], [0, 0])
  return [a / lines.length, b / lines.length]
}

function covarianceOf(lines: OwnLines['lines'], [a, b]: readonly [number, number]): Matrix2 {
  let [aa, ab, bb] = [0, 0, 0]
  for (const [intercept, slope] of lines) {
    aa += (intercept - a) ** 2
    ab += (intercept - a) * (slope - b)
    bb += (slope - b) ** 2
  }
  return scale([aa, ab, ab, bb], 1 / (lines.length - 1))
}

/**
 * Variances by restricted likelihood, in closed form because all groups share their points: in the coordinates in which
 * (X'X)⁻¹ is the unit matrix, the covariance of the own lines has the roots m; a root below σ² leaves nothing between
 * the groups in its direction and its scatter joins σ².
 */
function variancesOf({ residual, precision }: OwnLines, covariance: Matrix2, groups: number, points: number) {
  const [ga, gb, , gd] = precision
  const lower: Matrix2 = [Math.sqrt(ga), 0, gb / Math.sqrt(ga), Math.sqrt(gd - gb ** 2 / ga)]
  const back = inverse(lower)
  const { values, vectors } = eigenOfSymmetric(multiply(multiply(back, covariance), transpose(back)))
  let [pooled, freedom] = [residual, groups * (points - 2)]
  let variance = pooled / freedom
  for (const value of values.toSorted((a, b) => a - b)) {
    if (value >= variance) break
    pooled += (groups - 1) * value
    freedom += groups - 1
    variance = pooled / freedom
  }
  const extra = values.map((value) => Math.max(0, value - variance)) as [number, number]
  const turned = multiply(lower, vectors)
  const between = multiply(multiply(turned, [extra[0], 0, 0, extra[1]]), transpose(turned))
  return { variance, between }
}

function logLikelihoodOf(own: OwnLines, total: Matrix2, covariance: Matrix2, variance: number, groups: number, points: number): number {
  const determinant = total[0] * total[3] - total[1] * total[2]
  const [aa, , , bb] = multiply(inverse(total), covariance)
  const minusTwice =
    (groups * points - 2) * Math.log(2 * Math.PI) +
    groups * (points - 2) * Math.log(variance) +
    (groups - 1) * Math.log(determinant) +
    groups * Math.log(own.determinant) +
    2 * Math.log(groups) +
    own.residual / variance +
    (groups - 1) * (aa + bb)
  return -minusTwice / 2
}

function check(x: readonly number[], groups: readonly (readonly number[])[]): void {
  if (x.length < 3) throw new InvalidInput('x', 'must hold at least 3 values')
  if (groups.length < 2) throw new InvalidInput('groups', 'must be at least 2')
  x.forEach((value, index) => requireFinite(`x[${index}]`, value))
  groups.forEach((values, index) => {
    if (values.length !== x.length)
      throw new InvalidInput(`groups[${index}]`, `must be as many as x; there are ${values.length} for ${x.length}`)
    values.forEach((value, place) => requireFinite(`groups[${index}][${place}]`, value))
  })
}

/**
 * Random intercepts and slopes, correlated, by restricted maximum likelihood.
 * Source: Laird & Ware 1982, Biometrics 38:963–974; Bates et al. 2015, J. Statistical Software 67(1).
 * @param x points, at least 3, shared by all groups   @param groups y values, a list a group, each as long as x
 * @returns correlation null where one of the spreads is 0
 * @throws InvalidInput for lists of unequal length, equal points, NaN, or groups without scatter about their lines
 */
export function hierarchicalSlopes(x: readonly number[], groups: readonly (readonly number[])[]) {
  check(x, groups)
  const own = fitOwn(x, groups)
  if (own.residual === 0) throw new InvalidInput('groups', 'must scatter about their own lines')
  const count = groups.length
  const mean = meanOf(own.lines)
  const covariance = covarianceOf(own.lines, mean)
  const { variance, between } = variancesOf(own, covariance, count, x.length)
  const total = add(between, scale(own.precision, variance))
  const [keepAA, keepAB, keepBA, keepBB] = multiply(between, inverse(total))
  const [interceptSd, slopeSd] = [Math.sqrt(Math.max(0, between[0])), Math.sqrt(Math.max(0, between[3]))]
  return {
    intercept: mean[0],
    slope: mean[1],
    interceptStandardError: Math.sqrt(total[0] / count),
    slopeStandardError: Math.sqrt(total[3] / count),
    interceptSd,
    slopeSd,
    correlation: interceptSd > 0 && slopeSd > 0 ? Math.max(-1, Math.min(1, between[1] / interceptSd / slopeSd)) : null,
    residualSd: Math.sqrt(variance),
    ownSlopes: own.lines.map(([, slope]) => slope),
    ownIntercepts: own.lines.map(([intercept]) => intercept),
    shrunkSlopes: own.lines.map(([a, b]) => mean[1] + keepBA * (a - mean[0]) + keepBB * (b - mean[1])),
    shrunkIntercepts: own.lines.map(([a, b]) => mean[0] + keepAA * (a - mean[0]) + keepAB * (b - mean[1])),
    restrictedLogLikelihood: logLikelihoodOf(own, total, covariance, variance, count, x.length),
  }
}
