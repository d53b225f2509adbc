/** A station that was entered by mistake; one with a past stays. */
import { ConflictError } from '@tapewarden/platform'
import type { Done } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { getStation } from './stations.js'

export async function removeStation(changing: Changing, stationId: string): Promise<Done> {
  await changing.rows(`SELECT id FROM station WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [stationId])
  const before = await getStation(changing, stationId)
  try {
    await changing.run(`DELETE FROM station WHERE organisation_id = $1 AND id = $2`, [stationId])
  } catch (error) {
    if ((error as { code?: string }).code !== '23503') throw error
    throw new ConflictError(
      'HAS_A_PAST',
      `A machine stands or once stood at ${before.name}, or its cartons or a stoppage were written down, so it stays. It can have another name and line.`,
    )
  }
  changing.note({ action: 'remove', subjectKind: 'station', subjectId: stationId, before })
  changing.datesMayMove(before.warehouseId)
  return { done: true }
}
