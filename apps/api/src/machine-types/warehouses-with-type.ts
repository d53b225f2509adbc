import type { Changing } from '../use/work.js'

/** Where machines of this type stand now. */
export async function warehousesWithType(changing: Changing, machineTypeId: string): Promise<string[]> {
  const rows = await changing.rows<{ id: string }>(
    `SELECT DISTINCT p.warehouse_id AS id FROM machine m JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     WHERE m.organisation_id = $1 AND m.machine_type_id = $2`,
    [machineTypeId],
  )
  return rows.map((row) => row.id)
}
