import { ForbiddenError, InvalidError, newId } from '@tapewarden/platform'
import type { MachineDetail, RouteBody, Routes } from '@tapewarden/shared'
import { judgePresenceAgain } from '../evidence/take-in.js'
import { localDateOf } from '../use/local-day.js'
import { assignments, requireVersion } from '../use/patch.js'
import { placeOf } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { getMachine, placementsOf } from './machine-detail.js'
import { type MachineNow, machineNow } from './machine-now.js'
import { checkPlace, checkShares, MACHINE_COLUMNS, refuseFuture } from './register.js'

/** The fields alone, for many in one transaction. */
export async function putFields(
  changing: Changing,
  machineId: string,
  body: RouteBody<Routes['patchMachine']>,
): Promise<{ before: MachineNow; after: MachineNow }> {
  const place = await placeOf(changing, machineId, true)
  const { machine: before, placed } = await machineNow(changing, machineId)
  requireVersion(body.version, before.version)
  if (body.commissionedOn && body.commissionedOn > localDateOf(changing.now, place.zone ?? 'UTC'))
    throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', '/commissionedOn')
  const { set, values } = assignments(MACHINE_COLUMNS, body, 3)
  await changing.run(`UPDATE machine SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    machineId,
    ...values,
  ])
  if (body.commissionedOn !== undefined && body.commissionedOn !== before.commissionedOn)
    await judgePresenceAgain(changing, machineId, placed?.stationId ?? null)
  if (body.tape !== undefined && body.tape !== before.tape) await noteSituation(changing, machineId, 'new_tape', changing.now, place.zone)
  const { machine: after } = await machineNow(changing, machineId)
  changing.note({ action: 'change', subjectKind: 'machine', subjectId: machineId, before, after })
  changing.datesMayMove(place.warehouseId)
  return { before, after }
}

export async function patchMachine(changing: Changing, machineId: string, body: RouteBody<Routes['patchMachine']>): Promise<MachineDetail> {
  await putFields(changing, machineId, body)
  return getMachine(changing, machineId)
}

/** What happened once and makes tasks due once (trigger 'situation'). */
export async function noteSituation(
  changing: Changing,
  machineId: string,
  kind: 'moved' | 'brushes_replaced' | 'new_tape' | 'back_in_service',
  at: Date,
  zone: string | null,
): Promise<void> {
  await changing.run(
    `INSERT INTO situation (organisation_id, id, machine_id, kind, happened_on, created_at) VALUES ($1, $2, $3, $4, $5, $6)`,
    [newId(), machineId, kind, localDateOf(at, zone ?? 'UTC'), changing.now],
  )
}

/** The old placement ends and the new one begins at the same moment; clocks and history stay with the machine. */
export async function moveMachine(changing: Changing, machineId: string, body: RouteBody<Routes['moveMachine']>): Promise<MachineDetail> {
  await putElsewhere(changing, machineId, body)
  return getMachine(changing, machineId)
}

/** The move alone, for many in one transaction. */
export async function putElsewhere(changing: Changing, machineId: string, body: RouteBody<Routes['moveMachine']>): Promise<void> {
  const place = await placeOf(changing, machineId, true)
  if (place.status === 'retired') throw new InvalidError('RETIRED', 'A retired machine does not move.')
  const [before] = await placementsOf(changing, machineId, 1)
  const zone = await checkPlace(changing, body.warehouseId, body.stationId)
  const at = body.at === undefined ? changing.now : new Date(body.at)
  refuseFuture(at, changing.now, '/at')
  if (place.placedFrom !== null && at < new Date(place.placedFrom))
    throw new InvalidError('BEFORE_LAST_MOVE', `It came to where it stands on ${place.placedFrom}; this move lies before that.`, '/at')
  await checkShares(changing, body.stationId, machineId, body.shareOfStation)
  await changing.run(`UPDATE placement SET to_at = $3 WHERE organisation_id = $1 AND machine_id = $2 AND to_at IS NULL`, [machineId, at])
  await changing.run(
    `INSERT INTO placement (organisation_id, id, machine_id, warehouse_id, station_id, from_at, share_of_station) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [newId(), machineId, body.warehouseId, body.stationId, at, body.shareOfStation],
  )
  // Where only its share of the station's work changes, nobody lifted it.
  if (place.warehouseId !== body.warehouseId || place.stationId !== body.stationId)
    await noteSituation(changing, machineId, 'moved', at, zone)
  if (place.warehouseId !== body.warehouseId) await takeAlong(changing, machineId, body.warehouseId)
  const [after] = await placementsOf(changing, machineId, 1)
  changing.note({ action: 'move', subjectKind: 'machine', subjectId: machineId, before, after })
  changing.datesMayMove(place.warehouseId, body.warehouseId)
}

/** What is open on the machine goes with it to the people of the other warehouse. */
async function takeAlong(changing: Changing, machineId: string, warehouseId: string): Promise<void> {
  for (const table of ['occurrence', 'forecast', 'work_order'] as const) {
    const open = { occurrence: `AND state = 'open'`, forecast: '', work_order: `AND state NOT IN ('done', 'looked_over', 'cancelled')` }[
      table
    ]
    await changing.run(`UPDATE ${table} SET warehouse_id = $3 WHERE organisation_id = $1 AND machine_id = $2 ${open}`, [
      machineId,
      warehouseId,
    ])
  }
}

/** A tag is taken off, and a machine retired, by the desk alone. */
function refuseForTechnician(changing: Changing, from: string, to: string): void {
  if (changing.who.role !== 'technician') return
  if (to === 'retired' || from === 'retired')
    throw new ForbiddenError('ROLE_NOT_ALLOWED', 'Retiring a machine, and taking it back, is for a manager.')
  if (from === 'tagged_out')
    throw new ForbiddenError('ROLE_NOT_ALLOWED', 'A tag is taken off by a manager, or by finishing the work order that settles it.')
}

export async function setStatus(
  changing: Changing,
  machineId: string,
  status: string,
  at: Date,
  reason: string,
  zone: string | null,
): Promise<void> {
  await changing.run(`UPDATE machine_status_period SET to_at = $3 WHERE organisation_id = $1 AND machine_id = $2 AND to_at IS NULL`, [
    machineId,
    at,
  ])
  await changing.run(
    `INSERT INTO machine_status_period (organisation_id, id, machine_id, status, from_at, reason, person_id) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [newId(), machineId, status, at, reason, changing.who.personId],
  )
  await changing.run(`UPDATE machine SET status = $3, status_since = $4, version = version + 1 WHERE organisation_id = $1 AND id = $2`, [
    machineId,
    status,
    localDateOf(at, zone ?? 'UTC'),
  ])
}

/** The status alone, for many in one transaction. */
export async function putStatus(changing: Changing, machineId: string, body: RouteBody<Routes['changeMachineStatus']>): Promise<void> {
  const place = await placeOf(changing, machineId, true)
  const { machine: before } = await machineNow(changing, machineId)
  refuseForTechnician(changing, before.status, body.status)
  if (before.status === body.status) return
  if (body.status === 'tagged_out' && body.reason.trim() === '') throw new InvalidError('REASON_NEEDED', 'A tag says why.', '/reason')
  const at = body.at === undefined ? changing.now : new Date(body.at)
  refuseFuture(at, changing.now, '/at')
  if (before.statusFrom !== null && at < new Date(before.statusFrom))
    throw new InvalidError('BEFORE_LAST_CHANGE', `Its status last changed on ${before.statusFrom}; this lies before that.`, '/at')
  await setStatus(changing, machineId, body.status, at, body.reason, place.zone)
  if (body.status === 'in_service') await noteSituation(changing, machineId, 'back_in_service', at, place.zone)
  changing.note({
    action: 'change status',
    subjectKind: 'machine',
    subjectId: machineId,
    before: { status: before.status },
    after: { status: body.status, reason: body.reason },
  })
  changing.datesMayMove(place.warehouseId)
}

export async function changeStatus(
  changing: Changing,
  machineId: string,
  body: RouteBody<Routes['changeMachineStatus']>,
): Promise<MachineDetail> {
  await putStatus(changing, machineId, body)
  return getMachine(changing, machineId)
}
