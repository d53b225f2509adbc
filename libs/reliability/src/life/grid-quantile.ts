/** Quantile of a density given at equally spaced points, in steps from the first point. */
import { findRoot } from '../special/root.js'

/**
 * The density between two points is the cubic through its four neighbours, integrated exactly; the distribution function is
 * fourth order in the step.
 * @param density ≥ 0, at least 4 points, falling to 0 at both ends   @param level 0 < level < 1
 */
export function quantileOfDensity(density: Float64Array, level: number): number {
  const cells = density.length - 1
  let total = 0
  for (let cell = 0; cell < cells; cell++) total += partOfCell(density, cell, 1)
  let left = level * total
  for (let cell = 0; cell < cells; cell++) {
    const whole = partOfCell(density, cell, 1)
    if (left <= whole && whole > 0)
      return cell + (left <= 0 ? 0 : left >= whole ? 1 : findRoot((x) => partOfCell(density, cell, x) - left, 0, 1, 1e-13))
    left -= whole
  }
  return cells
}

/** Integral of the cubic through the points cell − 1 … cell + 2 from `cell` to `cell + x`. */
function partOfCell(density: Float64Array, cell: number, x: number): number {
  const last = density.length - 1
  const at = (index: number) => density[Math.min(last, Math.max(0, index))] as number
  const [a, b, c, d] = [at(cell - 1), at(cell), at(cell + 1), at(cell + 2)]
  const first = -a / 3 - b / 2 + c - d / 6
  const second = a / 2 - b + c / 2
  const third = -a / 6 + b / 2 - c / 2 + d / 6
  return x * (b + x * (first / 2 + x * (second / 3 + (x * third) / 4)))
}
