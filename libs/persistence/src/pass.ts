/** What a thread that plans needs, without what only requests need: the contract's schemas and the ORM, some fifty megabytes a thread. */
export { runPlanningPass } from './planning/math.js'
export type { PassRequest, PassResult } from './planning/pass.js'
export { SqlDatabase } from './sql-database.js'
