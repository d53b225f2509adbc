/** Posterior of the spread between groups, under a flat mean and a stated prior of the spread. */
import { findRoot } from '../special/root.js'
import { EIGHT_POINTS, integrateStretch } from './gauss-legendre.js'
import { logMarginal } from './given-tau.js'

export interface TauNode {
  tau: number
  /** Chance, all of them together 1. */
  weight: number
}

export interface TauPosterior {
  /** Rising in tau. */
  nodes: readonly TauNode[]
  /** tau below which it lies with the given chance. */
  quantile(probability: number): number
}

/** x = ln tau: the density of tau falls as a power, so stretches of equal ratio see every scale alike. */
const STRETCHES_PER_E_FOLD = 2

/**
 * Integration over ln tau from a millionth of the smallest standard error to far beyond the data, eight points a stretch.
 * With k groups and a flat prior the tail falls as tau^−(k−1), so three groups are the fewest.
 * @param logPrior ln of the prior density of tau, up to a constant
 */
export function tauPosterior(
  estimates: readonly number[],
  standardErrors: readonly number[],
  logPrior: (tau: number) => number = () => 0,
): TauPosterior {
  const smallest = Math.min(...standardErrors)
  const widest = Math.max(...standardErrors, Math.max(...estimates) - Math.min(...estimates))
  const [from, to] = [Math.log(smallest) - 14, Math.log(widest) + 28]
  const stretches = Math.ceil((to - from) * STRETCHES_PER_E_FOLD)
  const width = (to - from) / stretches
  const logDensity = (x: number): number => logMarginal(estimates, standardErrors, Math.exp(x)) + logPrior(Math.exp(x)) + x
  const points = Array.from({ length: stretches }, (_, stretch) => {
    const middle = from + (stretch + 0.5) * width
    return EIGHT_POINTS.map(([x, weight]) => ({ x: middle + (width / 2) * x, weight, log: logDensity(middle + (width / 2) * x) }))
  }).flat()
  const top = points.reduce((most, { log }) => Math.max(most, log), -Infinity)
  const density = (x: number): number => Math.exp(logDensity(x) - top)
  const masses = points.map(({ weight, log }) => (width / 2) * weight * Math.exp(log - top))
  // Below the first point the density of tau itself is flat.
  const below = density(from)
  const total = masses.reduce((a, b) => a + b, below)
  const nodes = [
    { tau: 0, weight: below / total },
    ...points.map(({ x }, index) => ({ tau: Math.exp(x), weight: (masses[index] as number) / total })),
  ]
  const quantile = (probability: number): number => {
    let left = probability * total - below
    if (left <= 0) return (Math.exp(from) * probability * total) / below
    for (let stretch = 0; stretch < stretches; stretch++) {
      const mass = masses.slice(stretch * 8, stretch * 8 + 8).reduce((a, b) => a + b, 0)
      const low = from + stretch * width
      if (left <= mass) return Math.exp(findRoot((x) => integrateStretch(density, low, x) - left, low, low + width, 1e-12))
      left -= mass
    }
    return Math.exp(to)
  }
  return { nodes, quantile }
}

/** Nodes that carry weight; the rest together are too little to see. */
export const weightyNodes = (nodes: readonly TauNode[], least = 1e-13): TauNode[] => nodes.filter(({ weight }) => weight > least)
