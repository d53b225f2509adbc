/** The posterior over ln scale at one shape, and what many such slices say of the scale together. */
import { bracketOutward, findRoot } from '../special/root.js'
import { cumulativeAt, gridDistribution, type GridDistribution } from './grid-distribution.js'
import type { LogPosterior } from './posterior-mode.js'

/**
 * Points at ln scale = centre + width · sinh(x), x equally spaced. The likelihood ends within about 1/shape of its edge while
 * the prior reaches over its whole spread, so a large shape needs narrow steps at the edge and wide ones away from it; where
 * the range is narrow the sinh is straight and the steps are equal.
 */
export interface Slice {
  logShape: number
  centre: number
  width: number
  from: number
  step: number
  /** Density in x. */
  distribution: GridDistribution
  /** Integral over ln scale, relative to the top of the whole density. */
  mass: number
}

const REACH = 38

/** @param top log density that counts as 1 */
export function cutSlice(density: LogPosterior, logShape: number, top: number, steps: number): Slice {
  const logSum = density.logSum(logShape)
  const best = density.bestLogScale(logShape, logSum)
  const lowest = Math.min(top, density.at(logShape, best, logSum)) - REACH
  const above = (logScale: number) => Math.max(density.at(logShape, logScale, logSum) - lowest, -1e300)
  const width = Math.exp(-logShape)
  // The ends are sought to a quarter of this step: many failures leave far less room than the 1/shape of one.
  const firstStep = Math.min(density.spreadOfLogScale(logShape, best, logSum), width)
  const end = (sign: number): number => {
    const found = bracketOutward(above, best, sign * firstStep, best + sign * 1e4)
    return found ? findRoot(above, found[0], found[1], firstStep / 4) : best + sign * 1e4
  }
  const [low, high] = [end(-1), end(1)]
  const centre = Math.min(high, Math.max(low, density.edgeLogScale(logShape, logSum)))
  const from = Math.asinh((low - centre) / width)
  const step = (Math.asinh((high - centre) / width) - from) / steps
  const values = Float64Array.from({ length: steps + 1 }, (_, index) => {
    const x = from + index * step
    return Math.exp(density.at(logShape, centre + width * Math.sinh(x), logSum) - top) * width * Math.cosh(x)
  })
  const mass = step * values.reduce((sum, value) => sum + value, 0)
  return { logShape, centre, width, from, step, distribution: gridDistribution(values), mass }
}

const logScaleAt = ({ centre, width, from, step }: Slice, index: number): number => centre + width * Math.sinh(from + index * step)

export function meanScaleOf(slices: readonly Slice[], total: number): number {
  const sums = slices.map(
    (slice) => slice.step * slice.distribution.density.reduce((sum, value, index) => sum + value * Math.exp(logScaleAt(slice, index)), 0),
  )
  return sums.reduce((sum, value) => sum + value, 0) / total
}

function massBelow({ centre, width, from, step, distribution }: Slice, logScale: number): number {
  return step * cumulativeAt(distribution, (Math.asinh((logScale - centre) / width) - from) / step)
}

/** Scale below which the share `level` of all slices' mass lies. */
export function scaleQuantileOf(slices: readonly Slice[], total: number, level: number): number {
  const share = (logScale: number) => slices.reduce((sum, slice) => sum + massBelow(slice, logScale), 0) / total - level
  const held = slices.filter(({ mass }) => mass > 0)
  const low = Math.min(...held.map((slice) => logScaleAt(slice, 0)))
  const high = Math.max(...held.map((slice) => logScaleAt(slice, slice.distribution.density.length - 1)))
  return Math.exp(findRoot(share, low, high, 1e-11))
}
