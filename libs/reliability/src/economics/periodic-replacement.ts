/** Replaced at fixed intervals, repaired to 'as bad as old' in between: another model than age replacement. */
import { requirePositive } from '../special/errors.js'
import type { Weibull } from '../life/weibull.js'

export interface PeriodicReplacement {
  /** In the unit of scale; null where the hazard does not rise, so that no finite interval is best. */
  interval: number | null
  costRate: number | null
  /** Repairs expected within one interval. */
  repairsPerInterval: number | null
}

/**
 * T = scale · (planned/(repair · (shape − 1)))^(1/shape), at (planned + repair · (T/scale)^shape)/T per unit.
 * Source: Barlow & Hunter, Optimum Preventive Maintenance Policies, Operations Research 8, 1960.
 * @param plannedCost > 0   @param repairCost > 0, the same currency
 * @example periodicReplacement({ shape: 2, scale: 800 }, 10, 3).interval // 1460.5934…
 */
export function periodicReplacement(life: Weibull, plannedCost: number, repairCost: number): PeriodicReplacement {
  requirePositive('shape', life.shape)
  requirePositive('scale', life.scale)
  requirePositive('plannedCost', plannedCost)
  requirePositive('repairCost', repairCost)
  if (life.shape <= 1) return { interval: null, costRate: null, repairsPerInterval: null }
  const repairs = plannedCost / (repairCost * (life.shape - 1))
  const interval = life.scale * repairs ** (1 / life.shape)
  return { interval, costRate: (plannedCost + repairCost * repairs) / interval, repairsPerInterval: repairs }
}
