/** The nightly look back: how good the dates of a warehouse have been, from its evidence and records; see scoreOwnHistory. */
import { dateOf, dayOf, placeOf, type ReachedReset, reachedResets, type Resets, scoreOwnHistory } from '@tapewarden/scheduling'
import type { SqlDatabase } from '../sql-database.js'
import type { PgScope } from '../pg-scope.js'
import { machinesToPlan, planningInputOf } from './compute.js'
import { LocalMoments } from './local-moments.js'
import { planningMath } from './math.js'
import { readChunk } from './read-chunk.js'
import { readWarehouse, type WarehouseFacts } from './read-warehouse.js'

/** Years of resets that are looked back on, and machines at most: as many as a chunk of the pass holds. */
const BACK_DAYS = 3 * 365
const MACHINES = 1000
/** Resets asked for in one night: the fleet is prepared anew for each of their days, and the others have other nights. */
const A_NIGHT = 120

export interface ScoredNight {
  /** Forecasts worked out tonight; a second run on the same day finds none. */
  scored: number
  /** Of them no forecast was possible. */
  withoutForecast: number
  /** Thrown away, because the evidence tells another day now. */
  removed: number
}
const NOTHING: ScoredNight = { scored: 0, withoutForecast: 0, removed: 0 }

const RESETS = `
  SELECT r.machine_id, r.service_task_id, array_agg(DISTINCT r.done_on::text ORDER BY r.done_on::text) AS done_on
  FROM service_record r JOIN placement p ON p.organisation_id = $1 AND p.machine_id = r.machine_id AND p.to_at IS NULL AND p.warehouse_id = $2
  WHERE r.organisation_id = $1 AND r.settles AND r.service_task_id = ANY($3::uuid[]) AND r.done_on >= $4::date - ${BACK_DAYS}
  GROUP BY r.machine_id, r.service_task_id ORDER BY max(r.done_on) DESC, r.machine_id, r.service_task_id`

async function resetsOf(scope: PgScope, facts: WarehouseFacts, today: string): Promise<Resets[]> {
  const byUse = [...facts.taskById.values()].filter(({ triggers }) => triggers.some(({ kind }) => kind === 'usage'))
  if (byUse.length === 0) return []
  const rows = await scope.rows<{ machine_id: string; service_task_id: string; done_on: string[] }>(RESETS, [
    scope.organisationId,
    facts.warehouseId,
    byUse.map(({ serviceTaskId }) => serviceTaskId),
    today,
  ])
  const machines = new Set<string>()
  return rows.flatMap((row) => {
    if (machines.size >= MACHINES && !machines.has(row.machine_id)) return []
    machines.add(row.machine_id)
    return [{ machineId: row.machine_id, serviceTaskId: row.service_task_id, doneOn: row.done_on.map(dayOf) }]
  })
}

const keyOf = ({ machineId, serviceTaskId, doneOn }: Pick<ReachedReset, 'machineId' | 'serviceTaskId' | 'doneOn'>): string =>
  `${machineId} ${serviceTaskId} ${doneOn}`

/** What stands stored and is still true; what is not is removed. */
async function keptOf(scope: PgScope, warehouseId: string, machineIds: readonly string[], reached: readonly ReachedReset[]) {
  const removed = await scope.run(
    `DELETE FROM scored_date s WHERE s.organisation_id = $1 AND (s.machine_id = ANY($2::uuid[]) OR s.warehouse_id = $3) AND NOT EXISTS (
       SELECT 1 FROM jsonb_to_recordset($4::jsonb) AS r(machine uuid, task uuid, done date, due date)
       WHERE r.machine = s.machine_id AND r.task = s.service_task_id AND r.done = s.done_on AND r.due = s.true_on)`,
    [
      scope.organisationId,
      machineIds,
      warehouseId,
      JSON.stringify(
        reached.map(({ machineId, serviceTaskId, doneOn, dueOn }) => ({
          machine: machineId,
          task: serviceTaskId,
          done: dateOf(doneOn),
          due: dateOf(dueOn),
        })),
      ),
    ],
  )
  const rows = await scope.rows<{ machineId: string; serviceTaskId: string; doneOn: string }>(
    `SELECT machine_id AS "machineId", service_task_id AS "serviceTaskId", done_on::text AS "doneOn" FROM scored_date WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[])`,
    [scope.organisationId, machineIds],
  )
  return { removed, kept: new Set(rows.map((row) => keyOf({ ...row, doneOn: dayOf(row.doneOn) }))) }
}

interface NewRow {
  machine_id: string
  service_task_id: string
  done_on: string
  early_on: string | null
  likely_on: string | null
  late_on: string | null
  true_on: string
  share_below: number
  share_above: number
}

function write(scope: PgScope, warehouseId: string, today: string, rows: readonly NewRow[]): Promise<number> {
  return scope.run(
    `INSERT INTO scored_date (organisation_id, warehouse_id, trigger_kind, scored_on, machine_id, service_task_id, done_on, early_on, likely_on, late_on, true_on, share_below, share_above)
     SELECT $1, $2, 'usage', $3, r.machine_id, r.service_task_id, r.done_on, r.early_on, r.likely_on, r.late_on, r.true_on, r.share_below, r.share_above
     FROM jsonb_populate_recordset(NULL::scored_date, $4::jsonb) AS r
     ON CONFLICT (organisation_id, machine_id, service_task_id, done_on) DO NOTHING`,
    [scope.organisationId, warehouseId, today, JSON.stringify(rows)],
  )
}

async function lookBack(scope: PgScope, facts: WarehouseFacts, today: string): Promise<ScoredNight> {
  const resets = await resetsOf(scope, facts, today)
  const machineIds = [...new Set(resets.map(({ machineId }) => machineId))]
  if (machineIds.length === 0) return { ...NOTHING, removed: (await keptOf(scope, facts.warehouseId, [], [])).removed }
  const moments = new LocalMoments(facts.calendar.zone)
  const rows = await readChunk(scope, facts, moments, machineIds, dayOf(today))
  // What other warehouses do today was not known on the days that are looked back to.
  const input = planningInputOf({ ...facts, useElsewhere: [] }, {}, dayOf(today), machinesToPlan(planningMath, rows, facts, moments))
  const reached = reachedResets(input, resets)
  const { removed, kept } = await keptOf(scope, facts.warehouseId, machineIds, reached)
  const asked = reached.filter((reset) => !kept.has(keyOf(reset))).slice(0, A_NIGHT)
  const wanted = new Set(asked.map(keyOf))
  const dues = new Map(
    scoreOwnHistory(input, resets, facts.warehouseId, { wanted: (reset) => wanted.has(keyOf(reset)), atMost: A_NIGHT }).map((due) => [
      keyOf(due),
      due,
    ]),
  )
  const told = (day: number | null): string | null => (day === null ? null : dateOf(day))
  await write(
    scope,
    facts.warehouseId,
    today,
    asked.map((reset): NewRow => {
      const due = dues.get(keyOf(reset))
      const place = due ? placeOf(due) : { below: 0, above: 0 }
      return {
        machine_id: reset.machineId,
        service_task_id: reset.serviceTaskId,
        done_on: dateOf(reset.doneOn),
        early_on: told(due?.early ?? null),
        likely_on: told(due?.likely ?? null),
        late_on: told(due?.late ?? null),
        true_on: dateOf(reset.dueOn),
        share_below: place.below,
        share_above: place.above,
      }
    }),
  )
  return { scored: dues.size, withoutForecast: asked.length - dues.size, removed }
}

/** Once a local day and warehouse; a second run of the day finds it done, one at the same time leaves it to the first. One transaction. */
export function scoreDates(
  database: SqlDatabase,
  request: { organisationId: string; warehouseId: string; today: string },
): Promise<ScoredNight | 'done already' | 'under way' | 'gone'> {
  return database.withOrganisationSql(request.organisationId, async (scope) => {
    const [lock] = await scope.rows<{ ours: boolean }>(
      `SELECT pg_try_advisory_xact_lock(hashtextextended('score dates ' || $1, 0)) AS ours`,
      [request.warehouseId],
    )
    if (!lock?.ours) return 'under way'
    const [row] = await scope.rows<{ done: boolean }>(
      'SELECT dates_scored_on IS NOT NULL AND dates_scored_on >= $3::date AS done FROM warehouse WHERE organisation_id = $1 AND id = $2',
      [request.organisationId, request.warehouseId, request.today],
    )
    if (!row) return 'gone'
    if (row.done) return 'done already'
    const facts = await readWarehouse(scope, request.warehouseId, request.today)
    if (!facts) return 'gone'
    const night = await lookBack(scope, facts, request.today)
    await scope.run('UPDATE warehouse SET dates_scored_on = greatest(dates_scored_on, $3::date) WHERE organisation_id = $1 AND id = $2', [
      request.organisationId,
      request.warehouseId,
      request.today,
    ])
    return night
  })
}
