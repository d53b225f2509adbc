import type { LifeOfComponent } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'

export interface Where {
  /** null: all. */
  warehouseIds: readonly string[] | null
}

/** By component key. */
export type Lives = Readonly<Record<string, LifeOfComponent>>

/** Life of parts as the newest pass of each warehouse knew it, by warehouse. */
export async function readLives(scope: PgScope, { warehouseIds }: Where): Promise<Map<string, Lives>> {
  const rows = await scope.rows<{ warehouseId: string; life: Lives }>(
    `SELECT DISTINCT ON (warehouse_id) warehouse_id AS "warehouseId", life FROM planning_chunk
     WHERE organisation_id = $1 AND life IS NOT NULL AND ($2::uuid[] IS NULL OR warehouse_id = ANY($2))
     ORDER BY warehouse_id, planned_for DESC, evidence_version DESC, position`,
    [scope.organisationId, warehouseIds],
  )
  return new Map(rows.map(({ warehouseId, life }) => [warehouseId, life]))
}
