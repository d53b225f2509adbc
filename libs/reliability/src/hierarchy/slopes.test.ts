import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { hierarchicalSlopes } from './slopes.js'

const near = (actual: number | null | undefined, wanted: number, relative: number): void =>
  expect(Math.abs((actual ?? Number.NaN) - wanted)).toBeLessThanOrEqual(relative * Math.abs(wanted))

/** Days 0 to 9, eighteen subjects. */
const SLEEP = [
  [249.56, 258.7047, 250.8006, 321.4398, 356.8519, 414.6901, 382.2038, 290.1486, 430.5853, 466.3535],
  [222.7339, 205.2658, 202.9778, 204.707, 207.7161, 215.9618, 213.6303, 217.7272, 224.2957, 237.3142],
  [199.0539, 194.3322, 234.32, 232.8416, 229.3074, 220.4579, 235.4208, 255.7511, 261.0125, 247.5153],
  [321.5426, 300.4002, 283.8565, 285.133, 285.7973, 297.5855, 280.2396, 318.2613, 305.3495, 354.0487],
  [287.6079, 285, 301.8206, 320.1153, 316.2773, 293.3187, 290.075, 334.8177, 293.7469, 371.5811],
  [234.8606, 242.8118, 272.9613, 309.7688, 317.4629, 309.9976, 454.1619, 346.8311, 330.3003, 253.8644],
  [283.8424, 289.555, 276.7693, 299.8097, 297.171, 338.1665, 332.0265, 348.8399, 333.36, 362.0428],
  [265.4731, 276.2012, 243.3647, 254.6723, 279.0244, 284.1912, 305.5248, 331.5229, 335.7469, 377.299],
  [241.6083, 273.9472, 254.4907, 270.8021, 251.4519, 254.6362, 245.4523, 235.311, 235.7541, 237.2466],
  [312.3666, 313.8058, 291.6112, 346.1222, 365.7324, 391.8385, 404.2601, 416.6923, 455.8643, 458.9167],
  [236.1032, 230.3167, 238.9256, 254.922, 250.7103, 269.7744, 281.5648, 308.102, 336.2806, 351.6451],
  [256.2968, 243.4543, 256.2046, 255.5271, 268.9165, 329.7247, 379.4445, 362.9184, 394.4872, 389.0527],
  [250.5265, 300.0576, 269.8939, 280.5891, 271.8274, 304.6336, 287.7466, 266.5955, 321.5418, 347.5655],
  [221.6771, 298.1939, 326.8785, 346.8555, 348.7402, 352.8287, 354.4266, 360.4326, 375.6406, 388.5417],
  [271.9235, 268.4369, 257.2424, 277.6566, 314.8222, 317.2135, 298.1353, 348.1229, 340.28, 366.5131],
  [225.264, 234.5235, 238.9008, 240.473, 267.5373, 344.1937, 281.1481, 347.5855, 365.163, 372.2288],
  [269.8804, 272.4428, 277.8989, 281.7895, 279.1705, 284.512, 259.2658, 304.6306, 350.7807, 369.4692],
  [269.4117, 273.474, 297.5968, 310.6316, 287.1726, 329.6076, 334.4818, 343.2199, 369.1417, 364.1236],
]
const DAYS = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]

describe('random intercepts and slopes', () => {
  it('Bates et al. 2015, J. Stat. Software 67(1), sleep study: 251.405 and 10.467, sds 24.741, 5.922, 25.592, REML 1743.6', () => {
    const fit = hierarchicalSlopes(DAYS, SLEEP)
    near(fit.intercept, 251.405, 1e-5)
    near(fit.slope, 10.467, 5e-5)
    near(fit.interceptStandardError, 6.825, 1e-3)
    near(fit.slopeStandardError, 1.546, 1e-3)
    near(fit.interceptSd, 24.741, 1e-3)
    near(fit.slopeSd, 5.922, 1e-3)
    near(fit.residualSd, 25.592, 1e-3)
    near(-2 * fit.restrictedLogLikelihood, 1743.6, 5e-5)
  })

  it('shifting x turns intercepts only', () => {
    const shifted = hierarchicalSlopes(
      DAYS.map((day) => day + 3),
      SLEEP,
    )
    const plain = hierarchicalSlopes(DAYS, SLEEP)
    near(shifted.slopeSd, plain.slopeSd, 1e-9)
    near(shifted.restrictedLogLikelihood, plain.restrictedLogLikelihood, 1e-10)
    for (const [index, slope] of plain.shrunkSlopes.entries()) near(shifted.shrunkSlopes[index], slope, 1e-8)
  })

  // A little fixed unrest, so that no group lies exactly on a line.
  const lists = fc
    .array(fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 5, maxLength: 5 }), { minLength: 3, maxLength: 7 })
    .map((groups) => groups.map((y, i) => y.map((value, j) => value + Math.sin(7 * i + 3 * j))))

  it('at the edge too no other variances are more likely, by the dense formula', () => {
    fc.assert(
      fc.property(lists, fc.double({ min: 0, max: 3, noNaN: true }), fc.double({ min: 0, max: 3, noNaN: true }), (groups, a, b) => {
        const x = [0, 1, 2, 3, 4]
        const fit = hierarchicalSlopes(x, groups)
        const rho = fit.correlation ?? 0
        const at = (i: number, s: number, r: number): number => dense(x, groups, i, s, rho, r)
        near(at(fit.interceptSd, fit.slopeSd, fit.residualSd) + 1000, fit.restrictedLogLikelihood + 1000, 1e-8)
        expect(at(fit.interceptSd + a - 1, fit.slopeSd + b - 1, fit.residualSd)).toBeLessThanOrEqual(fit.restrictedLogLikelihood + 1e-7)
        for (const factor of [0.97, 1.03])
          expect(at(fit.interceptSd, fit.slopeSd, fit.residualSd * factor)).toBeLessThanOrEqual(fit.restrictedLogLikelihood + 1e-7)
      }),
      { numRuns: 60 },
    )
  })

  it('refuses what does not fit', () => {
    expect(() =>
      hierarchicalSlopes(
        [1, 2],
        [
          [1, 2],
          [2, 3],
        ],
      ),
    ).toThrow('x')
    expect(() =>
      hierarchicalSlopes(
        [1, 1, 1],
        [
          [1, 2, 3],
          [2, 3, 5],
        ],
      ),
    ).toThrow('x')
    expect(() =>
      hierarchicalSlopes(
        [1, 2, 3],
        [
          [1, 2, 3],
          [2, 3],
        ],
      ),
    ).toThrow('groups[1]')
    expect(() =>
      hierarchicalSlopes(
        [1, 2, 3],
        [
          [1, 2, 3],
          [2, 3, 4],
        ],
      ),
    ).toThrow('scatter')
  })
})

/** Restricted log-likelihood by eliminating the full covariance of one group's values, n × n. */
function dense(x: number[], groups: readonly number[][], interceptSd: number, slopeSd: number, rho: number, residualSd: number): number {
  const n = x.length
  const covariance = x.map((p, i) =>
    x.map((q, j) => interceptSd ** 2 + rho * interceptSd * slopeSd * (p + q) + slopeSd ** 2 * p * q + (i === j ? residualSd ** 2 : 0)),
  )
  const { logDeterminant, solve } = cholesky(covariance)
  const columns = [x.map(() => 1), x]
  const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, value, index) => sum + value * (b[index] ?? 0), 0)
  const solved = columns.map(solve)
  const [aa, ab, bb] = [dot(columns[0]!, solved[0]!), dot(columns[0]!, solved[1]!), dot(columns[1]!, solved[1]!)].map(
    (each) => each * groups.length,
  ) as [number, number, number]
  const [ya, yb] = solved.map((column) => groups.reduce((sum, y) => sum + dot(column, y), 0)) as [number, number]
  const determinant = aa * bb - ab * ab
  const explained = (bb * ya * ya - 2 * ab * ya * yb + aa * yb * yb) / determinant
  const squares = groups.reduce((sum, y) => sum + dot(y, solve(y)), 0) - explained
  return -((n * groups.length - 2) * Math.log(2 * Math.PI) + groups.length * logDeterminant + Math.log(determinant) + squares) / 2
}

function cholesky(matrix: number[][]) {
  const n = matrix.length
  const lower = matrix.map((row) => row.map(() => 0))
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      lower[i]![j] = i === j ? Math.sqrt(sum) : sum / lower[j]![j]!
    }
  const solve = (right: readonly number[]): number[] => {
    const y = [...right]
    for (let i = 0; i < n; i++) {
      for (let k = 0; k < i; k++) y[i]! -= lower[i]![k]! * y[k]!
      y[i]! /= lower[i]![i]!
    }
    for (let i = n - 1; i >= 0; i--) {
      for (let k = i + 1; k < n; k++) y[i]! -= lower[k]![i]! * y[k]!
      y[i]! /= lower[i]![i]!
    }
    return y
  }
  return { logDeterminant: 2 * lower.reduce((sum, row, index) => sum + Math.log(row[index]!), 0), solve }
}
