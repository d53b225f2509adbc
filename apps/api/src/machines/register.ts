import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { MachineDetail, RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import { judgePresenceAgain } from '../evidence/take-in.js'
import { localDateOf } from '../use/local-day.js'
import { type Columns, insertion } from '../use/patch.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { getMachine } from './machine-detail.js'
import { summariesOf } from './machine-list.js'

type NewMachine = RouteBody<Routes['createMachine']>

export const MACHINE_COLUMNS: Columns = {
  serialNumber: 'serial_number',
  labelCode: 'label_code',
  commissionedOn: 'commissioned_on',
  owner: 'owner',
  warrantyUntil: 'warranty_until',
  serviceFirm: 'service_firm',
  serviceTelephone: 'service_telephone',
  mayOpen: 'may_open',
  tape: 'tape',
  note: 'note',
}

/** The place must be there, and in reach. @returns its zone */
export async function checkPlace(changing: Changing, warehouseId: string, stationId: string | null, prefix = ''): Promise<string> {
  requireWarehouse(changing.who, warehouseId)
  const { zone } = await changing.one<{ zone: string }>('warehouse', `SELECT zone FROM warehouse WHERE organisation_id = $1 AND id = $2`, [
    warehouseId,
  ])
  if (stationId === null) return zone
  const station = await changing.maybeOne(`SELECT id FROM station WHERE organisation_id = $1 AND id = $2 AND warehouse_id = $3`, [
    stationId,
    warehouseId,
  ])
  if (!station) throw new InvalidError('UNKNOWN_STATION', 'This warehouse has no such station.', `${prefix}/stationId`)
  return zone
}

/** Machines that share a station share its work; more than all of it cannot be shared out. */
export async function checkShares(
  changing: Changing,
  stationId: string | null,
  machineId: string,
  share: number,
  prefix = '',
): Promise<void> {
  if (stationId === null || share === 1) return
  const { sum } = await changing.one<{ sum: number }>(
    'station',
    `SELECT COALESCE(sum(share_of_station), 0)::float8 AS sum FROM placement WHERE organisation_id = $1 AND station_id = $2 AND to_at IS NULL AND machine_id <> $3`,
    [stationId, machineId],
  )
  if (sum < 1 && sum + share > 1.000001)
    throw new ConflictError(
      'SHARES_OVER_ONE',
      `The machines of this station would share out ${Math.round((sum + share) * 100)} % of its work.`,
      {
        errors: [{ pointer: `${prefix}/shareOfStation`, message: 'is more than what is left' }],
      },
    )
}

export function refuseFuture(at: Date, now: Date, pointer: string): void {
  // A phone's clock may run a little ahead.
  if (at.getTime() > now.getTime() + 300_000) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', pointer)
}

async function insertMachine(changing: Changing, body: NewMachine, prefix: string): Promise<string> {
  const id = body.id ?? newId()
  const { warehouseId, stationId, shareOfStation, fromAt } = body.placement
  const zone = await checkPlace(changing, warehouseId, stationId, `${prefix}/placement`)
  const from = fromAt === undefined ? changing.now : new Date(fromAt)
  refuseFuture(from, changing.now, `${prefix}/placement/fromAt`)
  const today = localDateOf(changing.now, zone)
  const since = localDateOf(from, zone)
  if (body.commissionedOn && body.commissionedOn > today)
    throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', `${prefix}/commissionedOn`)
  const type = await changing.maybeOne(`SELECT id FROM machine_type WHERE organisation_id = $1 AND id = $2`, [body.machineTypeId])
  if (!type) throw new InvalidError('UNKNOWN_MACHINE_TYPE', 'There is no such machine type.', `${prefix}/machineTypeId`)
  const { names, places, values } = insertion(MACHINE_COLUMNS, body, 8)
  await changing.run(
    `INSERT INTO machine (organisation_id, id, machine_type_id, registered_on, status, status_since, created_at${names}) VALUES ($1, $2, $3, $4, $5, $6, $7${places})`,
    [id, body.machineTypeId, today, body.status, since, changing.now, ...values],
  )
  await changing.run(
    `INSERT INTO machine_status_period (organisation_id, id, machine_id, status, from_at, reason, person_id) VALUES ($1, $2, $3, $4, $5, 'registered', $6)`,
    [newId(), id, body.status, from, changing.who.personId],
  )
  await checkShares(changing, stationId, id, shareOfStation, `${prefix}/placement`)
  await changing.run(
    `INSERT INTO placement (organisation_id, id, machine_id, warehouse_id, station_id, from_at, share_of_station) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [newId(), id, warehouseId, stationId, from, shareOfStation],
  )
  if (stationId !== null) await judgePresenceAgain(changing, id, stationId)
  await insertComponents(changing, id, body, today, prefix)
  await insertLastDone(changing, id, body, today, prefix)
  changing.datesMayMove(warehouseId)
  return id
}

/** What a machine is made of when it comes into the books: as told, else one of each of its type. */
async function insertComponents(changing: Changing, machineId: string, body: NewMachine, today: string, prefix: string): Promise<void> {
  const types = await changing.rows<{ id: string; key: string }>(
    `SELECT c.id, c.key FROM component_type c JOIN machine_type_component x ON x.organisation_id = c.organisation_id AND x.component_type_id = c.id
     WHERE c.organisation_id = $1 AND x.machine_type_id = $2`,
    [body.machineTypeId],
  )
  const told = new Map((body.components ?? []).map((component) => [component.componentKey, component.newOn]))
  for (const [index, component] of (body.components ?? []).entries()) {
    const at = `${prefix}/components/${index}`
    if (!types.some((type) => type.key === component.componentKey))
      throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'This machine type has no such component.', `${at}/componentKey`)
    if (component.newOn !== null && component.newOn > today)
      throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', `${at}/newOn`)
  }
  const fitted = types.map((type) => ({
    component: newId(),
    placement: newId(),
    type: type.id,
    newOn: told.has(type.key) ? (told.get(type.key) ?? null) : (body.commissionedOn ?? null),
  }))
  const rows = JSON.stringify(fitted)
  await changing.run(
    `INSERT INTO component (organisation_id, id, component_type_id, new_on)
     SELECT $1, r.component, r.type, r."newOn" FROM jsonb_to_recordset($2::jsonb) AS r(component uuid, type uuid, "newOn" date)`,
    [rows],
  )
  await changing.run(
    `INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date)
     SELECT $1, r.placement, r.component, $3, r."newOn" FROM jsonb_to_recordset($2::jsonb) AS r(placement uuid, component uuid, "newOn" date)`,
    [rows, machineId],
  )
}

/** Care that somebody knows was done before: the clocks start there. All else stays not known. */
async function insertLastDone(changing: Changing, machineId: string, body: NewMachine, today: string, prefix: string): Promise<void> {
  for (const [index, care] of (body.lastDone ?? []).entries()) {
    const at = `${prefix}/lastDone/${index}`
    if (care.doneOn > today) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', `${at}/doneOn`)
    const added = await changing.run(
      `INSERT INTO service_record (organisation_id, id, machine_id, service_task_id, component_id, done_on, done_at, person_id, source, anchor_on, created_at)
       SELECT $1, $2, $3, k.id,
         (SELECT cp.component_id FROM plan_task pt JOIN component c ON c.organisation_id = pt.organisation_id AND c.component_type_id = pt.component_type_id
            JOIN component_placement cp ON cp.organisation_id = c.organisation_id AND cp.component_id = c.id AND cp.machine_id = $3 AND cp.to_date IS NULL
          WHERE pt.organisation_id = $1 AND pt.service_task_id = k.id LIMIT 1),
         $4::date, $4::date, $5, 'registration', $4::date, $6
       FROM service_task k WHERE k.organisation_id = $1 AND k.machine_type_id = $7 AND k.key = $8`,
      [newId(), machineId, care.doneOn, changing.who.personId, changing.now, body.machineTypeId, care.taskKey],
    )
    if (added === 0) throw new InvalidError('UNKNOWN_TASK', 'The plan of this machine type has no such task.', `${at}/taskKey`)
  }
}

export async function createMachine(changing: Changing, body: NewMachine): Promise<MachineDetail> {
  const id = await insertMachine(changing, body, '')
  const after = await getMachine(changing, id)
  changing.note({ action: 'create', subjectKind: 'machine', subjectId: id, after })
  return after
}

/** All or none: a fleet half in the books is worse than none. */
export async function createMachines(
  changing: Changing,
  body: RouteBody<Routes['createMachines']>,
): Promise<RouteResult<Routes['createMachines']>> {
  const ids: string[] = []
  for (const [index, machine] of body.machines.entries()) ids.push(await insertMachine(changing, machine, `/machines/${index}`))
  const items = await summariesOf(changing, ids)
  for (const machine of items) changing.note({ action: 'create', subjectKind: 'machine', subjectId: machine.id, after: machine })
  return { items }
}
