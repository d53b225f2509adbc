import type { PgScope } from '@tapewarden/persistence/sql'

/** Machines of one job: enough that a job's own cost vanishes, few enough that a pass spreads over workers. */
export const CHUNK_MACHINES = 1000
/** A pass whose chunks have not ended after this long is given up for a newer one. */
const GIVE_UP_MINUTES = 15

export interface ChunkKey {
  plannedFor: string
  evidenceVersion: number
  position: number
}

export interface WarehouseState extends Record<string, unknown> {
  zone: string
  evidence_version: number
  planned_version: number
  planned_on: string | null
}

/** Locks the warehouse's row, so that one pass is cut or ended at a time. */
export async function lockWarehouse(scope: PgScope, warehouseId: string): Promise<WarehouseState | null> {
  const rows = await scope.rows<WarehouseState>(
    'SELECT zone, evidence_version, planned_version, planned_on FROM warehouse WHERE organisation_id = $1 AND id = $2 FOR UPDATE',
    [scope.organisationId, warehouseId],
  )
  return rows[0] ?? null
}

/** Chunks that still have to run today; those of another day, or given up, are thrown away. */
export async function openChunks(scope: PgScope, warehouseId: string, today: string, now: Date): Promise<ChunkKey[]> {
  await scope.run(
    `DELETE FROM planning_chunk WHERE organisation_id = $1 AND warehouse_id = $2
     AND (planned_for <> $3 OR created_at < $4::timestamptz - make_interval(mins => ${GIVE_UP_MINUTES}))`,
    [scope.organisationId, warehouseId, today, now],
  )
  return scope.rows<ChunkKey & Record<string, unknown>>(
    `SELECT planned_for AS "plannedFor", evidence_version AS "evidenceVersion", position FROM planning_chunk
     WHERE organisation_id = $1 AND warehouse_id = $2 AND done_at IS NULL ORDER BY evidence_version, position`,
    [scope.organisationId, warehouseId],
  )
}

/** Cuts the machines that stand in the warehouse into chunks. @returns none where it has no machine */
export async function cutChunks(
  scope: PgScope,
  warehouseId: string,
  pass: { plannedFor: string; evidenceVersion: number; now: Date },
): Promise<ChunkKey[]> {
  const rows = await scope.rows<{ position: number }>(
    `INSERT INTO planning_chunk (organisation_id, warehouse_id, planned_for, evidence_version, position, machine_ids, created_at)
     SELECT $1, $2, $3, $4, position, array_agg(machine_id ORDER BY machine_id), $5
     FROM (SELECT machine_id, ((row_number() OVER (ORDER BY machine_id) - 1) / ${CHUNK_MACHINES})::int AS position
           FROM placement WHERE organisation_id = $1 AND warehouse_id = $2 AND to_at IS NULL) here
     GROUP BY position
     ON CONFLICT (organisation_id, warehouse_id, planned_for, evidence_version, position)
       DO UPDATE SET machine_ids = excluded.machine_ids, created_at = excluded.created_at, done_at = NULL, life = NULL
     RETURNING position`,
    [scope.organisationId, warehouseId, pass.plannedFor, pass.evidenceVersion, pass.now],
  )
  return rows
    .map(({ position }) => ({ plannedFor: pass.plannedFor, evidenceVersion: pass.evidenceVersion, position }))
    .sort((left, right) => left.position - right.position)
}

const OF_CHUNK = 'organisation_id = $1 AND warehouse_id = $2 AND planned_for = $3 AND evidence_version = $4'

export async function readChunk(
  scope: PgScope,
  warehouseId: string,
  key: ChunkKey,
): Promise<{ machineIds: string[]; done: boolean } | null> {
  const rows = await scope.rows<{ machineIds: string[]; done: boolean }>(
    `SELECT machine_ids AS "machineIds", done_at IS NOT NULL AS done FROM planning_chunk WHERE ${OF_CHUNK} AND position = $5`,
    [scope.organisationId, warehouseId, key.plannedFor, key.evidenceVersion, key.position],
  )
  return rows[0] ?? null
}

export async function markPlanned(
  scope: PgScope,
  warehouseId: string,
  key: Pick<ChunkKey, 'plannedFor' | 'evidenceVersion'>,
): Promise<void> {
  await scope.run(
    `UPDATE warehouse SET planned_on = GREATEST(planned_on, $3::date), planned_version = GREATEST(planned_version, $4)
     WHERE organisation_id = $1 AND id = $2`,
    [scope.organisationId, warehouseId, key.plannedFor, key.evidenceVersion],
  )
}

export type ChunkEnd = 'superseded' | 'more to do' | 'pass ended'

/** Marks a chunk done; the last of its pass moves the warehouse's planned day and version. Repeating it changes nothing. */
export async function endChunk(scope: PgScope, warehouseId: string, key: ChunkKey, now: Date): Promise<ChunkEnd> {
  await lockWarehouse(scope, warehouseId)
  const values = [scope.organisationId, warehouseId, key.plannedFor, key.evidenceVersion]
  const marked = await scope.run(`UPDATE planning_chunk SET done_at = COALESCE(done_at, $6) WHERE ${OF_CHUNK} AND position = $5`, [
    ...values,
    key.position,
    now,
  ])
  if (marked === 0) return 'superseded'
  const left = await scope.rows(`SELECT 1 FROM planning_chunk WHERE ${OF_CHUNK} AND done_at IS NULL LIMIT 1`, values)
  if (left.length > 0) return 'more to do'
  await markPlanned(scope, warehouseId, key)
  return 'pass ended'
}
