import { newId } from '@tapewarden/platform'
import type { MachineDetail, RouteBody, Routes } from '@tapewarden/shared'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { getMachine, getMachineByLabel } from './machine-detail.js'
import { moveMachine } from './move.js'

/** The station of this name in the warehouse; where there is none it is made, last in the walk so far. */
async function stationNamed(changing: Changing, warehouseId: string, name: string, line: string): Promise<string> {
  // Two phones that name the same new station at once make one.
  await changing.rows(`SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [warehouseId])
  const known = await changing.maybeOne<{ id: string }>(
    `SELECT id FROM station WHERE organisation_id = $1 AND warehouse_id = $2 AND lower(name) = lower($3)
     ORDER BY name = $3 DESC, id LIMIT 1`,
    [warehouseId, name],
  )
  if (known) return known.id
  const id = newId()
  await changing.run(
    `INSERT INTO station (organisation_id, id, warehouse_id, name, line, walking_order)
     SELECT $1, $2, $3, $4, $5, COALESCE(max(walking_order), 0) + 1 FROM station WHERE organisation_id = $1 AND warehouse_id = $3`,
    [id, warehouseId, name, line],
  )
  changing.note({ action: 'create', subjectKind: 'station', subjectId: id, after: { warehouseId, name, line } })
  return id
}

/**
 * 'It stands here', said where it stands. Where its station was not known, the placement is filled in as it is: nothing was moved,
 * so nothing falls due by a move. Where it was another, it has moved.
 */
export async function standMachine(changing: Changing, labelCode: string, body: RouteBody<Routes['standMachine']>): Promise<MachineDetail> {
  const { id: machineId } = await getMachineByLabel(changing, labelCode)
  const place = await placeOf(changing, machineId, true)
  if (place.warehouseId === null) return getMachine(changing, machineId)
  const stationId = await stationNamed(changing, place.warehouseId, body.stationName.trim(), body.line.trim())
  if (stationId === place.stationId) return getMachine(changing, machineId)
  if (place.stationId !== null) return moveMachine(changing, machineId, { warehouseId: place.warehouseId, stationId, shareOfStation: 1 })
  const before = await getMachine(changing, machineId)
  await changing.run(`UPDATE placement SET station_id = $3 WHERE organisation_id = $1 AND id = $2`, [place.placementId, stationId])
  const after = await getMachine(changing, machineId)
  changing.note({
    action: 'stands at',
    subjectKind: 'machine',
    subjectId: machineId,
    before: before.placements[0],
    after: after.placements[0],
  })
  changing.datesMayMove(place.warehouseId)
  return after
}
