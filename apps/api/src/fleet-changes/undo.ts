import { ConflictError } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { type MachineNow, machineNow, type Placed } from '../machines/machine-now.js'
import { putElsewhere, putFields, putStatus } from '../machines/move.js'
import type { Changing } from '../use/work.js'
import { type Effect, getChange } from './record.js'

interface Row extends Record<string, unknown> {
  kind: 'registered' | 'changed' | 'swapped'
  effects: Effect[]
  warehouseIds: string[]
  undoneAt: string | null
}
const FOREIGN_KEY = '23503'
const UNDO = 'taken back'

const same = (a: Placed | null, b: Placed): boolean =>
  a?.warehouseId === b.warehouseId && a.stationId === b.stationId && a.shareOfStation === b.shareOfStation

/** @returns false where somebody changed the machine since: what they did stays */
async function putBack(changing: Changing, effect: Effect): Promise<boolean> {
  const { machineId, fields, status, place } = effect
  await changing.rows(`SELECT id FROM machine WHERE organisation_id = $1 AND id = $2 FOR NO KEY UPDATE`, [machineId])
  const { machine, placed } = await machineNow(changing, machineId)
  const untouched =
    (!status || machine.status === status.after) &&
    (!place || same(placed, place.after)) &&
    (!fields || Object.entries(fields.after).every(([key, value]) => machine[key as keyof MachineNow] === value))
  if (!untouched) return false
  if (status) await putStatus(changing, machineId, { status: status.before, reason: UNDO })
  if (place?.before) await putElsewhere(changing, machineId, place.before)
  if (fields) await putFields(changing, machineId, fields.before)
  return true
}

async function unregister(changing: Changing, id: string, row: Row): Promise<string[]> {
  try {
    const [{ removed } = { removed: 0 }] = await changing.rows<{ removed: number }>(
      `SELECT undo_registered_machines($2) AS removed WHERE $1::uuid IS NOT NULL`,
      [id],
    )
    for (const { machineId, labelCode } of row.effects)
      changing.note({ action: 'undo registration', subjectKind: 'machine', subjectId: machineId, before: { labelCode } })
    changing.datesMayMove(...row.warehouseIds)
    return removed === row.effects.length ? [] : row.effects.map(({ labelCode }) => labelCode)
  } catch (error) {
    if ((error as { code?: string }).code !== FOREIGN_KEY) throw error
    throw new ConflictError(
      'STILL_NEEDED',
      'Something hangs on these machines by now: work, evidence, a reminder that was sent. Retire what is not there instead.',
    )
  }
}

/** History is never cut: a change taken back is a change again, except for machines that were registered by mistake and never used. */
export async function undoFleetChange(changing: Changing, id: string): Promise<RouteResult<Routes['undoFleetChange']>> {
  const row = await changing.one<Row>(
    'change',
    `SELECT kind, effects, warehouse_ids AS "warehouseIds", undone_at AS "undoneAt" FROM fleet_change WHERE organisation_id = $1 AND id = $2 FOR UPDATE`,
    [id],
  )
  if (row.undoneAt !== null) throw new ConflictError('UNDONE_ALREADY', 'This was taken back already.')
  const left: string[] = []
  if (row.kind === 'registered') left.push(...(await unregister(changing, id, row)))
  // The last first: a spare leaves the station before the machine that it replaced comes back.
  else for (const effect of row.effects.toReversed()) if (!(await putBack(changing, effect))) left.push(effect.labelCode)
  if (left.length === row.effects.length)
    throw new ConflictError('CHANGED_MEANWHILE', 'Every one of these machines was changed again since. They stay as they are.')
  if (row.kind === 'swapped' && left.length > 0)
    throw new ConflictError('CHANGED_MEANWHILE', `${left.join(' and ')} was changed again since: a swap is taken back whole or not at all.`)
  await changing.run(`UPDATE fleet_change SET undone_at = $3 WHERE organisation_id = $1 AND id = $2`, [id, changing.now])
  return { change: await getChange(changing, id), putBack: row.effects.length - left.length, leftAsTheyAre: left.sort() }
}
