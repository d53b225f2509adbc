import type { PgScope } from '../pg-scope.js'

export interface StateToWrite {
  machine_id: string
  ledger_months: Readonly<Record<string, string>>
  forecast_digest: string
}

/** Remembers, for machines of which something was written, what it was. */
export async function writePlanningState(scope: PgScope, states: readonly StateToWrite[]): Promise<void> {
  if (states.length === 0) return
  await scope.run(
    `INSERT INTO planning_state (organisation_id, machine_id, ledger_months, forecast_digest)
     SELECT $1, machine_id, ledger_months, forecast_digest FROM jsonb_to_recordset($2::jsonb) AS s(machine_id uuid, ledger_months jsonb, forecast_digest text)
     ON CONFLICT (organisation_id, machine_id) DO UPDATE SET ledger_months = excluded.ledger_months, forecast_digest = excluded.forecast_digest`,
    [scope.organisationId, JSON.stringify(states)],
  )
}
