/** A station one place earlier or later in the walk through its warehouse. */
import { ConflictError } from '@tapewarden/platform'
import type { RouteBody, Routes, Station } from '@tapewarden/shared'
import { requireVersion } from '../use/patch.js'
import type { Changing } from '../use/work.js'
import { getStation } from './stations.js'

interface Stop extends Record<string, unknown> {
  id: string
  place: number
}

/** Each after the one before; stations that shared a place get places of their own. */
function placed(stops: readonly Stop[], places: readonly number[]): Stop[] {
  let last = Number.NEGATIVE_INFINITY
  return stops.flatMap(({ id, place: before }, index) => {
    last = Math.max(places[index] as number, last + 1)
    return last === before ? [] : [{ id, place: last }]
  })
}

/** All stations of the warehouse are held meanwhile, so that two who move at once come to one order. */
export async function walkStation(changing: Changing, stationId: string, body: RouteBody<Routes['walkStation']>): Promise<Station> {
  const { warehouseId } = await getStation(changing, stationId)
  await changing.rows(`SELECT id FROM station WHERE organisation_id = $1 AND warehouse_id = $2 ORDER BY id FOR UPDATE`, [warehouseId])
  const before = await getStation(changing, stationId)
  requireVersion(body.version, before.version)
  const stops = await changing.rows<Stop>(
    `SELECT id, walking_order AS place FROM station WHERE organisation_id = $1 AND warehouse_id = $2 ORDER BY walking_order, id`,
    [warehouseId],
  )
  const at = stops.findIndex(({ id }) => id === stationId)
  const first = body.to === 'earlier' ? at - 1 : at
  const pair = stops.slice(Math.max(first, 0), first + 2)
  if (first < 0 || pair.length < 2)
    throw new ConflictError('END_OF_WALK', `${before.name} is the ${body.to === 'earlier' ? 'first' : 'last'} station of the walk already.`)
  const moved = placed(
    stops.toSpliced(first, 2, ...pair.toReversed()),
    stops.map(({ place }) => place),
  )
  await changing.run(
    `UPDATE station s SET walking_order = r.place, version = s.version + 1 FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, place int)
     WHERE s.organisation_id = $1 AND s.id = r.id`,
    [JSON.stringify(moved)],
  )
  const after = await getStation(changing, stationId)
  changing.note({ action: 'move in the walk', subjectKind: 'station', subjectId: stationId, before, after })
  changing.datesMayMove(warehouseId)
  return after
}
