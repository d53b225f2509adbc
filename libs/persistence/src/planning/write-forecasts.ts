import { hash } from 'node:crypto'
import type { MachinePlan, TaskForecast } from '@tapewarden/scheduling'
import { copyIn, copyLine } from '../copy.js'
import type { PgScope } from '../pg-scope.js'
import { dayText, dayTextOrNull } from './days.js'

const COLUMNS = [
  'machine_id',
  'service_task_id',
  'plan_task_id',
  'state',
  'early_on',
  'likely_on',
  'late_on',
  'no_later_than',
  'governing_trigger',
  'basis',
  'reason',
]
/** What may differ between two passes; the key and the day of computing are not among them. */
const COMPARED = [...COLUMNS.slice(2), 'warehouse_id']
const ALL = ['organisation_id', ...COLUMNS, 'warehouse_id', 'computed_on']

const CREATE = `CREATE TEMPORARY TABLE IF NOT EXISTS pass_forecast (
  machine_id uuid, service_task_id uuid, plan_task_id uuid, state text, early_on date, likely_on date, late_on date, no_later_than date,
  governing_trigger text, basis jsonb, reason text) ON COMMIT DELETE ROWS`

const UPSERT = `INSERT INTO forecast AS f (${ALL.join(', ')})
  SELECT $1, ${COLUMNS.join(', ')}, $2, $3 FROM pass_forecast
  ON CONFLICT (organisation_id, machine_id, service_task_id) DO UPDATE SET ${[...COMPARED, 'computed_on'].map((column) => `${column} = excluded.${column}`).join(', ')}
  WHERE (${COMPARED.map((column) => `f.${column}`).join(', ')}) IS DISTINCT FROM (${COMPARED.map((column) => `excluded.${column}`).join(', ')})`

/** Tasks that the plan no longer has. */
const PRUNE = `DELETE FROM forecast f WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[])
  AND NOT EXISTS (SELECT 1 FROM pass_forecast p WHERE p.machine_id = f.machine_id AND p.service_task_id = f.service_task_id)`

function lineOf(machineId: string, forecast: TaskForecast): string {
  return copyLine([
    machineId,
    forecast.serviceTaskId,
    forecast.planTaskId,
    forecast.state,
    dayTextOrNull(forecast.earlyOn),
    dayTextOrNull(forecast.likelyOn),
    dayTextOrNull(forecast.lateOn),
    dayTextOrNull(forecast.noLaterThan),
    forecast.governing,
    JSON.stringify(forecast.basis),
    forecast.reason,
  ])
}

export interface ForecastsToWrite {
  machineId: string
  /** Lines ready for COPY. */
  lines: string[]
  digest: string
}

/** What one machine's forecasts look like when written, and the digest by which the next pass knows them. */
export function linesOfPlan(plan: MachinePlan, warehouseId: string): ForecastsToWrite {
  const lines = plan.forecasts.map((forecast) => lineOf(plan.machineId, forecast))
  return { machineId: plan.machineId, lines, digest: hash('md5', warehouseId + lines.join('')) }
}

/** Writes the forecasts of machines whose digest changed: only the rows that differ. @returns rows written or removed */
export async function writeForecasts(
  scope: PgScope,
  warehouseId: string,
  today: number,
  changed: readonly ForecastsToWrite[],
): Promise<number> {
  if (changed.length === 0) return 0
  await scope.run(CREATE)
  await copyIn(
    scope,
    'pass_forecast',
    COLUMNS,
    changed.flatMap((machine) => machine.lines),
  )
  const written = await scope.run(UPSERT, [scope.organisationId, warehouseId, dayText(today)])
  const removed = await scope.run(PRUNE, [scope.organisationId, changed.map((machine) => machine.machineId)])
  return written + removed
}
