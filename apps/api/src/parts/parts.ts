import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { Part, RouteBody, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import { assignments, insertion } from '../use/patch.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'

type PartRow = Part & Record<string, unknown>
const COLUMNS = { name: 'name', stockCode: 'stock_code', price: 'price', inBooks: 'in_books' }

const SELECT = `SELECT p.id, p.name, p.stock_code AS "stockCode", c.key AS "componentKey", p.price, p.in_books AS "inBooks",
    COALESCE((SELECT jsonb_agg(jsonb_build_object('machineTypeId', t.id, 'name', t.name) ORDER BY t.name) FROM part_fit f
      JOIN machine_type t ON t.organisation_id = f.organisation_id AND t.id = f.machine_type_id WHERE f.organisation_id = p.organisation_id AND f.part_id = p.id), '[]') AS fits,
    COALESCE((SELECT jsonb_agg(jsonb_build_object('warehouseId', w.id, 'warehouseName', w.name, 'onHand', s.on_hand, 'reserved', s.reserved, 'onOrder', s.on_order,
        'leadTimeDays', s.lead_time_days, 'leadTimeSpreadDays', s.lead_time_spread_days) ORDER BY w.name) FROM part_stock s
      JOIN warehouse w ON w.organisation_id = s.organisation_id AND w.id = s.warehouse_id
      WHERE s.organisation_id = p.organisation_id AND s.part_id = p.id AND ($2::uuid[] IS NULL OR w.id = ANY($2)) AND ($3::uuid IS NULL OR w.id = $3)), '[]') AS stock
  FROM part p LEFT JOIN component_type c ON c.organisation_id = p.organisation_id AND c.id = p.component_type_id
  WHERE p.organisation_id = $1`

export async function listParts(reading: Reading, query: RouteQuery<Routes['listParts']>): Promise<RouteResult<Routes['listParts']>> {
  const after = readCursor(query.cursor, ['text', 'id'])
  const rows = await reading.rows<PartRow>(
    `${SELECT} AND p.in_books = $8 AND ($4::text IS NULL OR p.name ILIKE $4 OR p.stock_code ILIKE $4) AND ($5::text IS NULL OR (p.name, p.id) > ($5, $6::uuid)) ORDER BY p.name, p.id LIMIT $7`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.search === undefined ? null : `%${query.search.replace(/[\\%_]/g, '\\$&')}%`,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
      query.inBooks !== 'false',
    ],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.name, row.id],
    (row) => row,
  )
}

export function getPart(reading: Reading, partId: string): Promise<Part> {
  return reading.one<PartRow>('part', `${SELECT} AND p.id = $4`, [reading.who.warehouseIds, null, partId])
}

async function componentTypeId(changing: Changing, key: string | null): Promise<string | null> {
  if (key === null) return null
  const row = await changing.maybeOne<{ id: string }>(`SELECT id FROM component_type WHERE organisation_id = $1 AND key = $2`, [key])
  if (!row) throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'There is no such component type.', '/componentKey')
  return row.id
}

async function putFits(changing: Changing, partId: string, machineTypeIds: readonly string[]): Promise<void> {
  await changing.run(`DELETE FROM part_fit WHERE organisation_id = $1 AND part_id = $2`, [partId])
  const added = await changing.run(
    `INSERT INTO part_fit (organisation_id, part_id, machine_type_id) SELECT organisation_id, $2, id FROM machine_type WHERE organisation_id = $1 AND id = ANY($3::uuid[])`,
    [partId, machineTypeIds],
  )
  if (added !== new Set(machineTypeIds).size)
    throw new InvalidError('UNKNOWN_MACHINE_TYPE', 'One of these machine types is not here.', '/fitsMachineTypeIds')
}

export async function createPart(changing: Changing, body: RouteBody<Routes['createPart']>): Promise<Part> {
  const id = body.id ?? newId()
  const { names, places, values } = insertion(COLUMNS, body, 4)
  await changing.run(`INSERT INTO part (organisation_id, id, component_type_id${names}) VALUES ($1, $2, $3${places})`, [
    id,
    await componentTypeId(changing, body.componentKey ?? null),
    ...values,
  ])
  if (body.fitsMachineTypeIds) await putFits(changing, id, body.fitsMachineTypeIds)
  const after = await getPart(changing, id)
  changing.note({ action: 'create', subjectKind: 'part', subjectId: id, after })
  return after
}

export async function patchPart(changing: Changing, partId: string, body: RouteBody<Routes['patchPart']>): Promise<Part> {
  await changing.rows(`SELECT id FROM part WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [partId])
  const before = await getPart(changing, partId)
  const { set, values } = assignments(COLUMNS, body, 3)
  if (body.componentKey !== undefined)
    set.push(`component_type_id = $${3 + values.push(await componentTypeId(changing, body.componentKey)) - 1}`)
  if (set.length > 0) await changing.run(`UPDATE part SET ${set.join(', ')} WHERE organisation_id = $1 AND id = $2`, [partId, ...values])
  if (body.fitsMachineTypeIds) await putFits(changing, partId, body.fitsMachineTypeIds)
  const after = await getPart(changing, partId)
  changing.note({ action: 'change', subjectKind: 'part', subjectId: partId, before, after })
  // What is out of the books keeps nothing waiting.
  if (before.inBooks !== after.inBooks) changing.datesMayMove(...after.stock.map(({ warehouseId }) => warehouseId))
  return after
}

/** The shelf is counted, so the figure replaces what the books say. Lead times move the days on which things open. */
export async function putStock(
  changing: Changing,
  partId: string,
  warehouseId: string,
  body: RouteBody<Routes['putPartStock']>,
): Promise<Part> {
  requireWarehouse(changing.who, warehouseId)
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [warehouseId])
  const before = await getPart(changing, partId)
  const put = await changing.run(
    `INSERT INTO part_stock AS s (organisation_id, part_id, warehouse_id, on_hand, on_order, lead_time_days, lead_time_spread_days) VALUES ($1, $2, $3, $4, $5, $6, $7)
     ON CONFLICT (organisation_id, part_id, warehouse_id) DO UPDATE SET on_hand = excluded.on_hand, on_order = excluded.on_order, lead_time_days = excluded.lead_time_days,
       lead_time_spread_days = excluded.lead_time_spread_days, reserved = LEAST(s.reserved, excluded.on_hand)`,
    [partId, warehouseId, body.onHand, body.onOrder, body.leadTimeDays, body.leadTimeSpreadDays ?? 0],
  )
  if (put === 0) throw new ConflictError('NOT_STORED', 'The stock was not stored.')
  const after = await getPart(changing, partId)
  changing.note({ action: 'count stock', subjectKind: 'part', subjectId: partId, before, after })
  changing.datesMayMove(warehouseId)
  return after
}
