/** What must not be lost when a person changes: an administrator, somebody whom reminders reach, the way to work that has begun. */
import { InvalidError } from '@tapewarden/platform'
import type { Person, RouteBody, Routes } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'

type Body = RouteBody<Routes['patchPerson']>

/** An organisation without an administrator could not be set right from within. */
export async function keepOneAdministrator(changing: Changing, before: Person, body: Body): Promise<void> {
  const leaves =
    before.role === 'administrator' && !before.disabled && ((body.role ?? 'administrator') !== 'administrator' || body.disabled === true)
  if (!leaves) return
  const others = await changing.rows(
    `SELECT id FROM person WHERE organisation_id = $1 AND role = 'administrator' AND disabled_at IS NULL AND password_hash IS NOT NULL AND id <> $2 FOR UPDATE`,
    [before.id],
  )
  if (others.length === 0)
    throw new InvalidError('LAST_ADMINISTRATOR', 'This is the last administrator who can sign in. Name another first.', '/role')
}

const listed = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`

/** Who is named for a warehouse's reminders keeps an address, and goes on serving it. */
export async function keepRemindersGoing(changing: Changing, before: Person, body: Body): Promise<void> {
  const noAddress = body.email === null && before.email !== null
  const left = body.warehouseIds ? before.warehouseIds.filter((id) => !body.warehouseIds?.includes(id)) : []
  if (!noAddress && left.length === 0) return
  const rows = await changing.rows<{ name: string }>(
    `SELECT name FROM warehouse WHERE organisation_id = $1 AND $2 IN (first_person_id, second_person_id) AND ($3 OR id = ANY($4::uuid[])) ORDER BY name, id`,
    [before.id, noAddress, left],
  )
  if (rows.length === 0) return
  const where = listed(rows.map(({ name }) => name))
  throw new InvalidError(
    'NAMED_FOR_REMINDERS',
    `Reminders of ${where} go to ${before.name}${noAddress ? ', and need an address' : ''}. Name somebody else there first, in Set-up under Who is told.`,
    noAddress ? '/email' : '/warehouseIds',
  )
}

/** What a phone has kept of an order that its technician cannot reach any more would be refused. */
export async function keepOrdersInReach(changing: Changing, before: Person, body: Body): Promise<void> {
  if (body.role === undefined && body.warehouseIds === undefined) return
  const role = body.role ?? before.role
  if (role === 'administrator' || role === 'manager') return
  const rows = await changing.rows<{ name: string; count: number }>(
    `SELECT w.name, count(*)::int AS count FROM work_order o JOIN warehouse w ON w.organisation_id = o.organisation_id AND w.id = o.warehouse_id
     WHERE o.organisation_id = $1 AND o.technician_id = $2 AND o.state IN ('issued', 'accepted', 'under_way', 'waiting') AND NOT o.warehouse_id = ANY($3::uuid[])
     GROUP BY w.name ORDER BY w.name`,
    [before.id, role === 'technician' ? (body.warehouseIds ?? before.warehouseIds) : []],
  )
  if (rows.length === 0) return
  const what = listed(rows.map(({ name, count }) => `${count} at ${name}`))
  throw new InvalidError(
    'HAS_OPEN_ORDERS',
    `${before.name} has work orders that are not done: ${what}. Give them to somebody else or cancel them first, on the page Work.`,
    body.warehouseIds ? '/warehouseIds' : '/role',
  )
}

const DECIDE_WHO_IS_TOLD = ['role', 'leadDays', 'disabled', 'warehouseIds'] as const

/** Who is told of a date, and how early, is planned with it. */
export async function planAnew(changing: Changing, before: Person, body: Body): Promise<void> {
  if (!DECIDE_WHO_IS_TOLD.some((fact) => body[fact] !== undefined)) return
  const halls = await changing.rows<{ id: string }>(
    `SELECT id FROM warehouse WHERE organisation_id = $1 AND ($2 IN (first_person_id, second_person_id) OR id = ANY($3::uuid[]))`,
    [before.id, [...before.warehouseIds, ...(body.warehouseIds ?? [])]],
  )
  changing.datesMayMove(...halls.map(({ id }) => id))
}
