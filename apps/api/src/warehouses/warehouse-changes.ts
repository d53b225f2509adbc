import { InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, Routes, WarehouseDetail } from '@tapewarden/shared'
import { assignments, type Columns, insertion, requireVersion } from '../use/patch.js'
import type { Changing } from '../use/work.js'
import { getWarehouse } from './warehouse-reads.js'

const COLUMNS: Columns = {
  name: 'name',
  zone: 'zone',
  address: 'address',
  waterHardness: 'water_hardness',
  currency: 'currency',
  labourCostPerHour: 'labour_cost_per_hour',
  stoppageCostPerHour: 'stoppage_cost_per_hour',
  technicianHoursAWeek: 'technician_hours_a_week',
  partsServicePercent: 'parts_service_percent',
  units: 'units',
  firstPersonId: 'first_person_id',
  secondPersonId: 'second_person_id',
}
type Body<Name extends 'createWarehouse' | 'patchWarehouse'> = RouteBody<Routes[Name]>

/** Reminders go to two different people who are there. */
async function checkPeople(changing: Changing, firstId: string | null | undefined, secondId: string | null | undefined): Promise<void> {
  if (firstId && firstId === secondId)
    throw new InvalidError(
      'ONE_PERSON_TWICE',
      'The second person must be another than the first, or a mail that fails has nowhere to go.',
      '/secondPersonId',
    )
  for (const [pointer, id] of [
    ['/firstPersonId', firstId],
    ['/secondPersonId', secondId],
  ] as const) {
    if (!id) continue
    const found = await changing.maybeOne(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 AND disabled_at IS NULL`, [id])
    if (!found) throw new InvalidError('UNKNOWN_PERSON', 'There is no such person here.', pointer)
  }
}

async function insertShifts(
  changing: Changing,
  warehouseId: string,
  shifts: readonly { weekday: number; starts: string; ends: string }[],
): Promise<void> {
  if (shifts.length === 0) return
  await changing.run(
    `INSERT INTO shift (organisation_id, id, warehouse_id, weekday, starts, ends)
     SELECT $1, r.id, $2, r.weekday, r.starts, r.ends FROM jsonb_to_recordset($3::jsonb) AS r(id uuid, weekday smallint, starts time, ends time)`,
    [warehouseId, JSON.stringify(shifts.map((shift) => ({ id: newId(), ...shift })))],
  )
}

export async function createWarehouse(changing: Changing, body: Body<'createWarehouse'>): Promise<WarehouseDetail> {
  await checkPeople(changing, body.firstPersonId, body.secondPersonId)
  const id = body.id ?? newId()
  const { names, places, values } = insertion(COLUMNS, body, 4)
  await changing.run(`INSERT INTO warehouse (organisation_id, id, created_at${names}) VALUES ($1, $2, $3${places})`, [
    id,
    changing.now,
    ...values,
  ])
  await insertShifts(changing, id, body.shifts ?? [])
  const after = await getWarehouse(changing, id)
  changing.note({ action: 'create', subjectKind: 'warehouse', subjectId: id, after })
  return after
}

/** Runs a change of one warehouse, notes it with before and after, and has its dates computed anew. */
async function change(
  changing: Changing,
  warehouseId: string,
  action: string,
  work: (before: WarehouseDetail) => Promise<void>,
): Promise<WarehouseDetail> {
  await changing.rows(`SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [warehouseId])
  const before = await getWarehouse(changing, warehouseId)
  await work(before)
  const after = await getWarehouse(changing, warehouseId)
  changing.note({ action, subjectKind: 'warehouse', subjectId: warehouseId, before, after })
  changing.datesMayMove(warehouseId)
  return after
}

export function patchWarehouse(changing: Changing, warehouseId: string, body: Body<'patchWarehouse'>): Promise<WarehouseDetail> {
  return change(changing, warehouseId, 'change', async (before) => {
    requireVersion(body.version, before.version)
    const first = body.firstPersonId === undefined ? before.firstPersonId : body.firstPersonId
    const second = body.secondPersonId === undefined ? before.secondPersonId : body.secondPersonId
    await checkPeople(changing, first, second)
    const { set, values } = assignments(COLUMNS, body, 3)
    await changing.run(`UPDATE warehouse SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
      warehouseId,
      ...values,
    ])
  })
}

export function putShifts(changing: Changing, warehouseId: string, body: RouteBody<Routes['putShifts']>): Promise<WarehouseDetail> {
  return change(changing, warehouseId, 'change shifts', async () => {
    await changing.run(`DELETE FROM shift WHERE organisation_id = $1 AND warehouse_id = $2`, [warehouseId])
    await insertShifts(changing, warehouseId, body.shifts)
  })
}

export function addClosure(changing: Changing, warehouseId: string, body: RouteBody<Routes['addClosure']>): Promise<WarehouseDetail> {
  return change(changing, warehouseId, 'add closure', async () => {
    await changing.run(
      `INSERT INTO closure (organisation_id, id, warehouse_id, from_date, to_date, reason) VALUES ($1, $2, $3, $4, $5, $6)`,
      [newId(), warehouseId, body.fromDate, body.toDate, body.reason],
    )
  })
}

export function addPeak(changing: Changing, warehouseId: string, body: RouteBody<Routes['addPeak']>): Promise<WarehouseDetail> {
  return change(changing, warehouseId, 'add peak', async () => {
    await changing.run(
      `INSERT INTO peak (organisation_id, id, warehouse_id, name, from_date, to_date, usage_multiplier, bars) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
      [newId(), warehouseId, body.name, body.fromDate, body.toDate, body.usageMultiplier, body.bars],
    )
  })
}

/** @param what  closure or peak: names of tables, never from outside */
export function removePeriod(changing: Changing, what: 'closure' | 'peak', warehouseId: string, id: string): Promise<WarehouseDetail> {
  return change(changing, warehouseId, `remove ${what}`, async () => {
    await changing.one(what, `DELETE FROM ${what} WHERE organisation_id = $1 AND warehouse_id = $2 AND id = $3 RETURNING id`, [
      warehouseId,
      id,
    ])
  })
}

export function putWarehousePeople(changing: Changing, warehouseId: string, personIds: readonly string[]): Promise<WarehouseDetail> {
  return change(changing, warehouseId, 'change people', async () => {
    await changing.run(`DELETE FROM person_warehouse WHERE organisation_id = $1 AND warehouse_id = $2`, [warehouseId])
    const added = await changing.run(
      `INSERT INTO person_warehouse (organisation_id, person_id, warehouse_id)
       SELECT organisation_id, id, $2 FROM person WHERE organisation_id = $1 AND id = ANY($3::uuid[])`,
      [warehouseId, personIds],
    )
    if (added !== new Set(personIds).size) throw new InvalidError('UNKNOWN_PERSON', 'One of these people is not here.', '/personIds')
  })
}
