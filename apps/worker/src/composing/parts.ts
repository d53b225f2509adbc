import { type PgScope, readPartNeeds } from '@tapewarden/persistence/sql'
import { partsToOrder } from '../sending/parts-to-order.js'

/** Once a local day: which parts must be ordered. What is no longer to be ordered is forgotten, so that its next need is told anew. */
async function lookAtParts(scope: PgScope, warehouseId: string, today: string): Promise<void> {
  const lines = partsToOrder(await readPartNeeds(scope, { warehouseIds: [warehouseId] }, today), today)
  const values = [scope.organisationId, warehouseId, lines.map(({ partId }) => partId)]
  await scope.run('DELETE FROM part_told WHERE organisation_id = $1 AND warehouse_id = $2 AND part_id <> ALL($3::uuid[])', values)
  await scope.run(
    `INSERT INTO part_told (organisation_id, warehouse_id, part_id, found_on)
     SELECT $1, $2, id, $4 FROM unnest($3::uuid[]) AS found(id) ON CONFLICT DO NOTHING`,
    [...values, today],
  )
  await scope.run('UPDATE warehouse SET parts_looked_on = $3 WHERE organisation_id = $1 AND id = $2', [
    scope.organisationId,
    warehouseId,
    today,
  ])
}

/** Parts to order of which nobody has been told. Under the lock of composing. */
export async function readUntoldParts(
  scope: PgScope,
  { id, partsLookedOn }: { id: string; partsLookedOn: string | null },
  today: string,
): Promise<string[]> {
  if ((partsLookedOn ?? '') < today) await lookAtParts(scope, id, today)
  const rows = await scope.rows<{ id: string }>(
    'SELECT part_id AS id FROM part_told WHERE organisation_id = $1 AND warehouse_id = $2 AND message_id IS NULL ORDER BY part_id',
    [scope.organisationId, id],
  )
  return rows.map((row) => row.id)
}
