import type { LifeOfComponent } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { readLife } from './read-life.js'
import type { WarehouseFacts } from './read-warehouse.js'

/** Where a chunk stands in its pass. */
export interface ChunkOfPass {
  evidenceVersion: number
  position: number
}

type Life = Readonly<Record<string, LifeOfComponent>>

/**
 * The life of parts is learnt from every part of the organisation: once a pass, not once a chunk. The first chunk to need it
 * keeps it beside itself, in its own transaction; chunks that begin before that is committed work it out as well.
 */
export async function lifeOfPass(
  scope: PgScope,
  facts: WarehouseFacts,
  plannedFor: string,
  today: number,
  { evidenceVersion, position }: ChunkOfPass,
): Promise<Life> {
  const values = [scope.organisationId, facts.warehouseId, plannedFor, evidenceVersion]
  const ofPass = 'organisation_id = $1 AND warehouse_id = $2 AND planned_for = $3 AND evidence_version = $4'
  const [known] = await scope.rows<{ life: Life }>(
    `SELECT life FROM planning_chunk WHERE ${ofPass} AND life IS NOT NULL ORDER BY position LIMIT 1`,
    values,
  )
  if (known) return known.life
  const life = await readLife(scope, facts, today)
  await scope.run(`UPDATE planning_chunk SET life = $6 WHERE ${ofPass} AND position = $5`, [...values, position, JSON.stringify(life)])
  return life
}
