/** An import taken back, whole or not at all, while nothing depends on what it brought. */
import { ConflictError } from '@tapewarden/platform'
import type { ImportDetail } from '@tapewarden/shared'
import { putFields } from '../machines/move.js'
import { patchStation } from '../stations/stations.js'
import type { Changing } from '../use/work.js'
import { patchWarehouse } from '../warehouses/warehouse-changes.js'
import { importRow } from './import-rows.js'
import { getImport } from './imports.js'

interface Effect extends Record<string, unknown> {
  before?: Record<string, unknown>
  version?: number
}

const STILL_NEEDED = () =>
  new ConflictError(
    'STILL_NEEDED',
    'Something depends on what this import brought: work, evidence, a reminder that was sent, or a later change. It stays.',
  )

async function effectsOf(changing: Changing, importId: string): Promise<Effect[]> {
  const rows = await changing.rows<{ effect: Effect }>(
    `SELECT e.effect FROM import_part p CROSS JOIN jsonb_array_elements(p.effects) WITH ORDINALITY AS e(effect, place)
     WHERE p.organisation_id = $1 AND p.import_id = $2 AND e.effect <> 'null' ORDER BY p.first_position DESC, e.place DESC`,
    [importId],
  )
  return rows.map(({ effect }) => effect)
}

const ids = (effects: readonly Effect[], key: string): string[] =>
  effects.flatMap((effect) => (typeof effect[key] === 'string' && effect.before === undefined ? [effect[key] as string] : []))

async function putBack(changing: Changing, effects: readonly Effect[]): Promise<void> {
  for (const { before, version, ...effect } of effects) {
    if (before === undefined) continue
    const body = { ...before, version } as never
    if (typeof effect.warehouseId === 'string') await patchWarehouse(changing, effect.warehouseId, body)
    else if (typeof effect.stationId === 'string') await patchStation(changing, effect.stationId, body)
    else if (typeof effect.changedMachineId === 'string') await putFields(changing, effect.changedMachineId, body)
    else if (typeof effect.changedComponentId === 'string') {
      const newOn = before.newOn as string | null
      await changing.run(`UPDATE component SET new_on = $3 WHERE organisation_id = $1 AND id = $2`, [effect.changedComponentId, newOn])
      await changing.run(`UPDATE component_placement SET from_date = $3 WHERE organisation_id = $1 AND id = $2`, [
        effect.placementId as string,
        newOn,
      ])
    }
  }
}

/** What the books never lose is put out of count; the rest goes. */
async function takeBack(changing: Changing, importId: string, effects: readonly Effect[]): Promise<void> {
  const evidence = ids(effects, 'evidenceId')
  await changing.run(
    `UPDATE evidence SET state = 'dismissed', set_aside_code = 'IMPORT_UNDONE', set_aside_reason = 'Its import was undone.' WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND state <> 'corrected'`,
    [evidence],
  )
  await changing.run(`DELETE FROM evidence_key WHERE organisation_id = $1 AND evidence_id = ANY($2::uuid[])`, [evidence])
  await changing.run(
    `UPDATE service_record SET settles = false, note = 'import undone' WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
    [ids(effects, 'serviceRecordId')],
  )
  await changing.run(`DELETE FROM component_placement WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [ids(effects, 'placementId')])
  await changing.run(`DELETE FROM component WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [ids(effects, 'componentId')])
  await changing.rows(`SELECT undo_imported_machines($2) WHERE $1::uuid IS NOT NULL`, [importId])
  await changing.run(`DELETE FROM station WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [ids(effects, 'stationId')])
  const warehouses = ids(effects, 'warehouseId')
  await changing.run(`DELETE FROM shift WHERE organisation_id = $1 AND warehouse_id = ANY($2::uuid[])`, [warehouses])
  await changing.run(`DELETE FROM warehouse WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [warehouses])
}

async function placesOf(changing: Changing, importId: string): Promise<string[]> {
  const rows = await changing.rows<{ id: string }>(
    `WITH r AS (SELECT effect FROM import_part CROSS JOIN jsonb_array_elements(effects) AS effect WHERE organisation_id = $1 AND import_id = $2 AND effect <> 'null')
     SELECT DISTINCT p.warehouse_id AS id FROM r
     LEFT JOIN evidence e ON e.organisation_id = $1 AND e.id = (r.effect ->> 'evidenceId')::uuid
     LEFT JOIN service_record s ON s.organisation_id = $1 AND s.id = (r.effect ->> 'serviceRecordId')::uuid
     LEFT JOIN component_placement c ON c.organisation_id = $1 AND c.id = (r.effect ->> 'placementId')::uuid
     JOIN placement p ON p.organisation_id = $1 AND p.to_at IS NULL
       AND p.machine_id = COALESCE((r.effect ->> 'machineId')::uuid, (r.effect ->> 'changedMachineId')::uuid, e.machine_id, s.machine_id, c.machine_id)
     UNION SELECT e.warehouse_id FROM r JOIN evidence e ON e.organisation_id = $1 AND e.id = (r.effect ->> 'evidenceId')::uuid
     WHERE e.machine_id IS NULL`,
    [importId],
  )
  return rows.map(({ id }) => id)
}

export async function undoImport(changing: Changing, importId: string): Promise<ImportDetail> {
  await changing.rows(`SELECT id FROM import WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [importId])
  const row = await importRow(changing, importId)
  if (row.state !== 'applied' && row.state !== 'cancelled' && row.state !== 'failed')
    throw new ConflictError('IMPORT_NOT_READY', 'Only what was written can be undone.')
  const effects = await effectsOf(changing, importId)
  if (effects.length === 0) throw new ConflictError('NOTHING_TO_UNDO', 'This import has written nothing.')
  const places = await placesOf(changing, importId)
  try {
    await putBack(changing, effects)
    await takeBack(changing, importId, effects)
  } catch (error) {
    const { code } = error as { code?: string }
    if (code === '23503' || code === 'CHANGED_MEANWHILE') throw STILL_NEEDED()
    throw error
  }
  await changing.run(
    `UPDATE import_part SET outcomes = lower(outcomes), effects = NULL WHERE organisation_id = $1 AND import_id = $2 AND outcomes IS NOT NULL`,
    [importId],
  )
  await changing.run(
    `UPDATE import SET state = 'undone', counts = counts || '{"applied": 0}', ended_at = $3 WHERE organisation_id = $1 AND id = $2`,
    [importId, changing.now],
  )
  changing.note({ action: 'undo', subjectKind: 'import', subjectId: importId, after: { kind: row.kind, fileName: row.fileName } })
  changing.datesMayMove(...places)
  return getImport(changing, importId)
}
