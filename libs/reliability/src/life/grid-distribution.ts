/** A density known at equally spaced points, integrated through cubics: its distribution function and quantiles. */
import { findRoot } from '../special/root.js'

/** Positions count in steps from the first point. */
export interface GridDistribution {
  density: Float64Array
  /** Integral from the first point to each point. */
  cumulative: Float64Array
  total: number
}

/** @param density ≥ 0, at least 4 points, falling to 0 at both ends. Fourth order in the step. */
export function gridDistribution(density: Float64Array): GridDistribution {
  const cumulative = new Float64Array(density.length)
  for (let cell = 0; cell < density.length - 1; cell++) cumulative[cell + 1] = (cumulative[cell] as number) + partOfCell(density, cell, 1)
  return { density, cumulative, total: cumulative.at(-1) as number }
}

export function cumulativeAt({ density, cumulative, total }: GridDistribution, position: number): number {
  if (position <= 0) return 0
  if (position >= density.length - 1) return total
  const cell = Math.floor(position)
  return (cumulative[cell] as number) + partOfCell(density, cell, position - cell)
}

/** Position below which the share `level` of the total lies. @param level 0 < level < 1 */
export function gridQuantile(distribution: GridDistribution, level: number): number {
  const { cumulative, total } = distribution
  const wanted = level * total
  let [low, high] = [0, cumulative.length - 1]
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if ((cumulative[middle] as number) < wanted) low = middle
    else high = middle
  }
  return findRoot((position) => cumulativeAt(distribution, position) - wanted, low, high, 1e-12)
}

/** Integral of the cubic through the points cell − 1 … cell + 2 from `cell` to `cell + x`. */
function partOfCell(density: Float64Array, cell: number, x: number): number {
  const last = density.length - 1
  const a = density[cell > 0 ? cell - 1 : 0] as number
  const b = density[cell] as number
  const c = density[cell + 1] as number
  const d = density[cell + 2 <= last ? cell + 2 : last] as number
  const first = -a / 3 - b / 2 + c - d / 6
  const second = a / 2 - b + c / 2
  const third = -a / 6 + b / 2 - c / 2 + d / 6
  return x * (b + x * (first / 2 + x * (second / 3 + (x * third) / 4)))
}
