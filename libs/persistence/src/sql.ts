/** What a worker needs: plain SQL, the planning pass and the looks at what it wrote, without the ORM of the requests. */
export { type Alarm, writeAlarms } from './alarms/write-alarms.js'
export { type ReportedBounce, takeBounce, type TakenBounce } from './bounces/take-bounce.js'
export { type PartNeedsHere, readPartNeeds } from './parts/read-part-needs.js'
export { PgScope, type SqlRow, type SqlValue } from './pg-scope.js'
export { runPlanningPass } from './planning/math.js'
export type { PassRequest, PassResult } from './planning/pass.js'
export { scoreDates, type ScoredNight } from './planning/score-dates.js'
export { SqlDatabase } from './sql-database.js'
