import { localMoment } from '@tapewarden/messaging'
import type { SqlDatabase, PgScope } from '@tapewarden/persistence/sql'
import { observe } from '../watch/observe.js'
import { type ComposingWarehouse, HOURS_COLUMNS } from '../composing/rows.js'

/** What should have moved and has not, over all organisations: the only health that counts. Ages in seconds. */
export interface QueueHealth {
  /** Oldest message that is due and not sent. */
  oldestDueMessageSeconds: number
  /** Longest time for which a reminder could have been in a message by its person’s wishes. */
  oldestUnsaidSeconds: number
  /** Reminders that could be in a message by now. */
  unsaidReminders: number
  /** Warehouses whose dates are behind their evidence or their day. */
  warehousesBehind: number
  messagesByState: Record<string, number>
  /** Uncertain messages not yet told again. */
  uncertainOpen: number
}

interface StateRow extends Record<string, unknown> {
  state: string
  count: number
  seconds: number | null
  unfolded: number
}

const STATES = `
  SELECT state, count(*)::int AS count, count(*) FILTER (WHERE folded_into_id IS NULL)::int AS unfolded,
    EXTRACT(epoch FROM $2::timestamptz - min(send_after) FILTER (WHERE state IN ('pending', 'claimed', 'handing_over') AND send_after <= $2))::float8 AS seconds
  FROM message WHERE organisation_id = $1 GROUP BY state`

interface WarehouseRow extends ComposingWarehouse, Record<string, unknown> {
  behind: boolean
}

const WAREHOUSES = `
  SELECT ${HOURS_COLUMNS}, w.planned_version < w.evidence_version AS behind FROM warehouse w WHERE w.organisation_id = $1`

async function addOrganisation(scope: PgScope, now: Date, health: QueueHealth): Promise<void> {
  for (const { state, count, seconds, unfolded } of await scope.rows<StateRow>(STATES, [scope.organisationId, now])) {
    health.messagesByState[state] = (health.messagesByState[state] ?? 0) + count
    if (state === 'uncertain') health.uncertainOpen += unfolded
    health.oldestDueMessageSeconds = Math.max(health.oldestDueMessageSeconds, seconds ?? 0)
  }
  for (const warehouse of await scope.rows<WarehouseRow>(WAREHOUSES, [scope.organisationId])) {
    const { today } = localMoment(warehouse, now)
    if (warehouse.behind || (warehouse.plannedOn ?? '') < today) health.warehousesBehind += 1
  }
  const observed = await observe(scope, now)
  health.unsaidReminders += observed.unsaidReminders
  health.oldestUnsaidSeconds = Math.max(health.oldestUnsaidSeconds, observed.oldestUnsaidSeconds)
}

export async function readQueueHealth(database: SqlDatabase, now: Date): Promise<QueueHealth> {
  const health: QueueHealth = {
    oldestDueMessageSeconds: 0,
    oldestUnsaidSeconds: 0,
    unsaidReminders: 0,
    warehousesBehind: 0,
    messagesByState: {},
    uncertainOpen: 0,
  }
  for (const organisationId of await database.organisations())
    await database.withOrganisationSql(organisationId, (scope) => addOrganisation(scope, now, health))
  return health
}
