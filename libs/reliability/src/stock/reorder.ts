/** Reorder points: the position at which to order so that the lead time is survived with the asked chance. */
import { requireBetween, requireNotNegative, requirePositive } from '../special/errors.js'
import { normalQuantile } from '../special/normal.js'
import { leastStock, poissonCumulative } from './poisson.js'

/** Demand and lead independent: variance L·σ² + d²·σ_L². Source: Render, Stair and Hanna, Quantitative Analysis for Management. */
export function reorderPointNormal(demandPerDay: number, demandSd: number, leadDays: number, leadSd: number, service: number) {
  requireNotNegative('demandPerDay', demandPerDay)
  requireNotNegative('demandSd', demandSd)
  requireNotNegative('leadDays', leadDays)
  requireNotNegative('leadSd', leadSd)
  requireBetween('service', service, 0, 1)
  const leadDemandSd = Math.sqrt(leadDays * demandSd ** 2 + demandPerDay ** 2 * leadSd ** 2)
  const z = normalQuantile(service)
  return { leadDemandSd, z, safetyStock: z * leadDemandSd, reorderPoint: demandPerDay * leadDays + z * leadDemandSd }
}

export function reorderPointPoisson(demandPerDay: number, leadDays: number, service: number) {
  requireNotNegative('demandPerDay', demandPerDay)
  requirePositive('leadDays', leadDays)
  requireBetween('service', service, 0, 1)
  const leadDemandMean = demandPerDay * leadDays
  const reorderPoint = leastStock(service, (stock) => poissonCumulative(stock, leadDemandMean))
  return { leadDemandMean, reorderPoint, reached: poissonCumulative(reorderPoint, leadDemandMean) }
}
