/** Rows of warehouses and stations, through the same use cases as the desk's own forms. */
import type { RouteBody, Routes } from '@tapewarden/shared'
import { newId } from '@tapewarden/platform'
import { createStation, getStation, patchStation } from '../stations/stations.js'
import type { Changing } from '../use/work.js'
import { createWarehouse, patchWarehouse } from '../warehouses/warehouse-changes.js'
import { getWarehouse } from '../warehouses/warehouse-reads.js'
import { Known } from './known.js'
import { before, differences, eachRow, refuse, type RowResult, type RowToDo, UNCHANGED } from './outcome.js'

type Filled<T> = { [Key in keyof T]: T[Key] }
/** Without the empty cells: they leave things as they are. */
function filled<T>(fields: Record<string, unknown>): Filled<T> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null && value !== undefined)) as Filled<T>
}

export async function writeWarehouses(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(changing, [])
  return eachRow(changing, rows, 'name', async (record) => {
    const there = known.warehouseOrNull(record.name)
    if (!there) {
      const id = newId()
      await createWarehouse(changing, filled<RouteBody<Routes['createWarehouse']>>({ ...record, id }))
      return { outcome: 'new', effect: { warehouseId: id } }
    }
    const now = await getWarehouse(changing, there.id)
    const { name: _name, ...rest } = record
    const changed = differences(rest, now)
    if (Object.keys(changed).length === 0) return UNCHANGED
    const after = await patchWarehouse(changing, there.id, changed as RouteBody<Routes['patchWarehouse']>)
    return { outcome: 'changed', effect: { warehouseId: there.id, before: before(now, changed), version: after.version } }
  })
}

const withoutBlanks = (name: unknown): string => String(name).toLowerCase().replace(/\s+/g, '')

/** Stations of the names in a chunk, read once for all of its rows: one by one, each row would read all stations of its warehouse. */
class StationsKnown {
  private readonly byName = new Map<string, { id: string }>()
  private readonly byLetters = new Map<string, { name: string }>()

  static async of(changing: Changing, names: readonly unknown[]): Promise<StationsKnown> {
    const rows = await changing.rows<{ id: string; warehouseId: string; name: string }>(
      `SELECT id, warehouse_id AS "warehouseId", name FROM station
       WHERE organisation_id = $1 AND regexp_replace(lower(name), '\\s+', '', 'g') = ANY($2::text[])`,
      [[...new Set(names.map(withoutBlanks))]],
    )
    const known = new StationsKnown()
    for (const { warehouseId, ...station } of rows) known.add(warehouseId, station)
    return known
  }

  add(warehouseId: string, station: { id: string; name: string }): void {
    this.byName.set(`${warehouseId} ${station.name.toLowerCase()}`, station)
    this.byLetters.set(`${warehouseId} ${withoutBlanks(station.name)}`, station)
  }

  /** 'A 01' beside 'A01' is one station, written in two ways: two of them would share its cartons out to the wrong one. */
  find(warehouseId: string, name: string): { id: string } | undefined {
    const there = this.byName.get(`${warehouseId} ${name.toLowerCase()}`)
    const almost = this.byLetters.get(`${warehouseId} ${withoutBlanks(name)}`)
    if (!there && almost)
      refuse('name', 'ALMOST_THERE', `differs from ‘${almost.name}’ by blanks alone.`, `Write ‘${almost.name}’, or another name.`)
    return there
  }
}

export async function writeStations(changing: Changing, rows: readonly RowToDo[]): Promise<RowResult[]> {
  const known = await Known.of(changing, [])
  const stations = await StationsKnown.of(
    changing,
    rows.map(({ record }) => record.name),
  )
  return eachRow(changing, rows, 'name', async ({ warehouse, ...record }) => {
    const place = known.warehouse(warehouse)
    const name = String(record.name)
    const there = stations.find(place.id, name)
    if (!there) {
      const id = newId()
      await createStation(
        changing,
        filled<RouteBody<Routes['createStation']>>({
          line: '',
          walkingOrder: 0,
          ifStopped: 'slows',
          stripsPerCarton: null,
          ...filled(record),
          id,
          warehouseId: place.id,
        }),
      )
      stations.add(place.id, { id, name })
      return { outcome: 'new', effect: { stationId: id } }
    }
    const now = await getStation(changing, there.id)
    const { name: _name, ...rest } = record
    const changed = differences(rest, now)
    if (Object.keys(changed).length === 0) return UNCHANGED
    const after = await patchStation(changing, there.id, changed as RouteBody<Routes['patchStation']>)
    return { outcome: 'changed', effect: { stationId: there.id, before: before(now, changed), version: after.version } }
  })
}
