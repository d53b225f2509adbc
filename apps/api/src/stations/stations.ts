import { newId } from '@tapewarden/platform'
import type { RouteBody, RouteQuery, RouteResult, Routes, Station } from '@tapewarden/shared'
import { judgeStationAgain } from '../evidence/take-in.js'
import { pageOf, readCursor } from '../use/paging.js'
import { assignments, type Columns, insertion, requireVersion } from '../use/patch.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'

type StationRow = Station & Record<string, unknown>
const COLUMNS: Columns = {
  name: 'name',
  line: 'line',
  walkingOrder: 'walking_order',
  ifStopped: 'if_stopped',
  stripsPerCarton: 'strips_per_carton',
}
const SELECT = `SELECT s.id, s.warehouse_id AS "warehouseId", s.name, s.line, s.walking_order AS "walkingOrder", s.if_stopped AS "ifStopped",
    s.strips_per_carton AS "stripsPerCarton", s.version,
    COALESCE((SELECT jsonb_agg(jsonb_build_object('id', m.id, 'labelCode', m.label_code, 'status', m.status, 'shareOfStation', p.share_of_station) ORDER BY m.label_code)
      FROM placement p JOIN machine m ON m.organisation_id = p.organisation_id AND m.id = p.machine_id
      WHERE p.organisation_id = s.organisation_id AND p.station_id = s.id AND p.to_at IS NULL), '[]') AS machines
  FROM station s WHERE s.organisation_id = $1 AND ($2::uuid[] IS NULL OR s.warehouse_id = ANY($2))`

export async function listStations(
  reading: Reading,
  query: RouteQuery<Routes['listStations']>,
): Promise<RouteResult<Routes['listStations']>> {
  const after = readCursor(query.cursor, ['id', 'number', 'id'])
  const rows = await reading.rows<StationRow>(
    `${SELECT} AND ($3::uuid IS NULL OR s.warehouse_id = $3)
       AND ($4::uuid IS NULL OR (s.warehouse_id, s.walking_order, s.id) > ($4, $5::int, $6::uuid))
     ORDER BY s.warehouse_id, s.walking_order, s.id LIMIT $7`,
    [reading.who.warehouseIds, query.warehouseId ?? null, after?.[0] ?? null, after?.[1] ?? null, after?.[2] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.warehouseId, row.walkingOrder, row.id],
    (row) => row,
  )
}

export function getStation(reading: Reading, stationId: string): Promise<Station> {
  return reading.one<StationRow>('station', `${SELECT} AND s.id = $3`, [reading.who.warehouseIds, stationId])
}

export async function createStation(changing: Changing, body: RouteBody<Routes['createStation']>): Promise<Station> {
  requireWarehouse(changing.who, body.warehouseId)
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [body.warehouseId])
  const id = body.id ?? newId()
  const { names, places, values } = insertion(COLUMNS, body, 4)
  await changing.run(`INSERT INTO station (organisation_id, id, warehouse_id${names}) VALUES ($1, $2, $3${places})`, [
    id,
    body.warehouseId,
    ...values,
  ])
  const after = await getStation(changing, id)
  changing.note({ action: 'create', subjectKind: 'station', subjectId: id, after })
  return after
}

export async function patchStation(changing: Changing, stationId: string, body: RouteBody<Routes['patchStation']>): Promise<Station> {
  await changing.rows(`SELECT id FROM station WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [stationId])
  const before = await getStation(changing, stationId)
  requireVersion(body.version, before.version)
  const { set, values } = assignments(COLUMNS, body, 3)
  await changing.run(`UPDATE station SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    stationId,
    ...values,
  ])
  if (body.stripsPerCarton !== undefined && body.stripsPerCarton !== before.stripsPerCarton) await judgeStationAgain(changing, stationId)
  const after = await getStation(changing, stationId)
  changing.note({ action: 'change', subjectKind: 'station', subjectId: stationId, before, after })
  changing.datesMayMove(before.warehouseId)
  return after
}
