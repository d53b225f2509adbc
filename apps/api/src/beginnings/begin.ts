import { ForbiddenError, InvalidError, newId } from '@tapewarden/platform'
import type { Beginning, RouteBody, Routes } from '@tapewarden/shared'
import { invitePerson } from '../accounts/account-links.js'
import { createMachineType } from '../machine-types/machine-type-changes.js'
import { freeLabels } from '../machines/free-labels.js'
import { createMachines } from '../machines/register.js'
import { createPerson } from '../people/people.js'
import type { Changing } from '../use/work.js'
import { createWarehouse } from '../warehouses/warehouse-changes.js'
import { getBeginning } from './steps.js'

type Body = RouteBody<Routes['beginWarehouse']>
/** Assumption, shown on the page of the first steps and changed there: Monday to Friday, one shift. */
const USUAL_WEEK = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00', ends: '14:00' }))
/** Assumption for the shortest and longest strip of an electric dispenser, mm; no date rests on them. */
const USUAL_STRIPS = { shortestStripMm: 150, longestStripMm: 1200 }
const MOST_AT_ONCE = 200

/** @returns the person's id; somebody new is invited by mail, and serves the warehouse */
async function personOf(changing: Changing, named: Body['first'], pointer: string): Promise<string | null> {
  if (named === null) return null
  if ('personId' in named) return named.personId
  if (changing.who.role !== 'administrator')
    throw new ForbiddenError(
      'ROLE_NOT_ALLOWED',
      'Somebody new is added by an administrator. Choose a person who is here, or leave it open.',
    )
  const there = await changing.maybeOne<{ id: string }>(
    `SELECT id FROM person WHERE organisation_id = $1 AND lower(email) = lower($2) AND disabled_at IS NULL`,
    [named.email],
  )
  if (there)
    throw new InvalidError('ALREADY_THERE', `Somebody with the address ${named.email} is here already: choose them.`, `${pointer}/email`)
  const { id } = await createPerson(changing, { ...named, role: 'technician', warehouseIds: [] })
  await invitePerson(changing, id)
  return id
}

/** What is not known is taken as the stricter: its sheet then asks for more care, never for less. */
async function typeFor(changing: Changing, { supply, heater }: Body): Promise<string> {
  const assumed = [...(supply === 'dont_know' ? ['supply' as const] : []), ...(heater === 'dont_know' ? ['heater' as const] : [])]
  const words = [
    supply === 'dont_know' ? 'plug or wired in not known' : supply === 'wired_in' ? 'wired in' : 'cord and plug',
    heater === 'dont_know' ? 'heater not known' : heater === 'yes' ? 'with heater' : 'no heater',
  ]
  const name = `Electric dispenser, ${words.join(', ')}`
  const known = await changing.maybeOne<{ id: string }>(`SELECT id FROM machine_type WHERE organisation_id = $1 AND name = $2`, [name])
  if (known) return known.id
  const made = await createMachineType(changing, {
    name,
    drive: 'electric',
    supply: supply === 'cord_and_plug' ? 'cord_and_plug' : 'wired_in',
    heater: heater !== 'no',
    assumed,
    ...USUAL_STRIPS,
    plan: 'default',
  })
  return made.id
}

async function serve(changing: Changing, warehouseId: string, personIds: readonly (string | null)[]): Promise<void> {
  await changing.run(
    `INSERT INTO person_warehouse (organisation_id, person_id, warehouse_id)
     SELECT organisation_id, id, $2 FROM person WHERE organisation_id = $1 AND id = ANY($3::uuid[]) ON CONFLICT DO NOTHING`,
    [warehouseId, personIds.filter((id) => id !== null)],
  )
}

/** One form, one transaction: a warehouse that is half begun is worse than none. */
export async function begin(changing: Changing, body: Body): Promise<Beginning> {
  const firstPersonId = await personOf(changing, body.first, '/first')
  const secondPersonId = await personOf(changing, body.second, '/second')
  const warehouse = await createWarehouse(changing, {
    name: body.name,
    zone: body.zone,
    address: body.place,
    firstPersonId,
    secondPersonId,
    shifts: USUAL_WEEK,
  })
  await serve(changing, warehouse.id, [firstPersonId, secondPersonId])
  const machineTypeId = body.machineCount === null ? null : await typeFor(changing, body)
  if (machineTypeId !== null) await register(changing, warehouse.id, machineTypeId, body.machineCount ?? 0)
  return getBeginning(changing, warehouse.id)
}

async function register(changing: Changing, warehouseId: string, machineTypeId: string, count: number): Promise<void> {
  const labels = await freeLabels(changing, 'D-', count)
  const machines = labels.map((labelCode) => ({
    id: newId(),
    labelCode,
    serialNumber: labelCode,
    machineTypeId,
    status: 'in_service' as const,
    placement: { warehouseId, stationId: null, shareOfStation: 1 },
  }))
  for (let at = 0; at < machines.length; at += MOST_AT_ONCE)
    await createMachines(changing, { machines: machines.slice(at, at + MOST_AT_ONCE) })
}
