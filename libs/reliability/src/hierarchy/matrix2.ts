/** Two by two matrices, row by row: [a, b, c, d]. */
export type Matrix2 = readonly [number, number, number, number]

export const add = ([a, b, c, d]: Matrix2, [e, f, g, h]: Matrix2): Matrix2 => [a + e, b + f, c + g, d + h]
export const scale = ([a, b, c, d]: Matrix2, by: number): Matrix2 => [a * by, b * by, c * by, d * by]
export const transpose = ([a, b, c, d]: Matrix2): Matrix2 => [a, c, b, d]
export const multiply = ([a, b, c, d]: Matrix2, [e, f, g, h]: Matrix2): Matrix2 => [
  a * e + b * g,
  a * f + b * h,
  c * e + d * g,
  c * f + d * h,
]

export function inverse([a, b, c, d]: Matrix2): Matrix2 {
  const determinant = a * d - b * c
  return [d / determinant, -b / determinant, -c / determinant, a / determinant]
}

/** Roots and, as columns, unit vectors of a symmetric matrix, by one Jacobi rotation. */
export function eigenOfSymmetric([a, b, , d]: Matrix2): { values: [number, number]; vectors: Matrix2 } {
  const angle = 0.5 * Math.atan2(2 * b, a - d)
  const [c, s] = [Math.cos(angle), Math.sin(angle)]
  return {
    values: [a * c * c + 2 * b * c * s + d * s * s, a * s * s - 2 * b * c * s + d * c * c],
    vectors: [c, -s, s, c],
  }
}
