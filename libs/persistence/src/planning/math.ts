import { buildLedgers, planMachines } from '@tapewarden/scheduling'
import type { SqlDatabase } from '../sql-database.js'
import type { PlanningMath } from './compute.js'
import { type PassRequest, type PassResult, runPlanningPassWith } from './pass.js'

/** The product's own pure functions. */
export const planningMath: PlanningMath = { buildLedgers, planMachines }

/** The planning pass of one warehouse; see runPlanningPassWith. */
export function runPlanningPass(database: SqlDatabase, request: PassRequest): Promise<PassResult> {
  return runPlanningPassWith(planningMath, database, request)
}
