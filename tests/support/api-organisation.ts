/** A small organisation made through the api itself, for tests that need machines to ask about. */
import { newId } from '@tapewarden/platform'
import { type Ask, type Json, personRow, seed, type TestApi } from './api.js'

export interface ApiOrganisation {
  organisationId: string
  /** By role; the technician and the instructed person serve the first warehouse alone. */
  administrator: Ask
  manager: Ask
  technician: Ask
  instructed: Ask
  people: Record<'administrator' | 'manager' | 'technician' | 'instructed', string>
  north: string
  south: string
  station: string
  machineTypeId: string
  machineId: string
  /** Stands in the south. */
  farMachineId: string
}

/** A plan with one task of each reach; the tests that need the default plan ask for it. */
export const PLAN = {
  tasks: [
    {
      key: 'oil_blade_felt',
      name: 'Oil the blade felt',
      componentKey: 'blade_felt',
      minutes: 5,
      skill: 'instructed',
      reach: 'outside',
      triggers: [{ kind: 'calendar_month' }],
      steps: [{ key: 'oil', text: 'Put a few drops on the dry felt.' }],
    },
    {
      key: 'measure_motor_brushes',
      name: 'Measure both motor brushes',
      componentKey: 'motor_brush_set',
      minutes: 10,
      skill: 'technician',
      reach: 'cover_off',
      triggers: [{ kind: 'calendar', months: 6 }],
      steps: [
        { key: 'open', text: 'Take the cover off.', caution: 'Unplug first.' },
        { key: 'measure', text: 'Measure the shorter edge.', answer: 'measurement', measurementKey: 'motor_brush' },
      ],
      measurements: [
        {
          key: 'motor_brush',
          name: 'Shorter brush',
          planLimit: 'type',
          neverBelow: 'type',
          plausibleFrom: 2,
          plausibleTo: 20,
          opensTaskKey: 'replace_motor_brushes',
        },
      ],
    },
    {
      key: 'replace_motor_brushes',
      name: 'Replace both motor brushes',
      componentKey: 'motor_brush_set',
      minutes: 20,
      skill: 'technician',
      reach: 'cover_off',
      triggers: [{ kind: 'wear' }, { kind: 'finding' }],
      steps: [{ key: 'replace', text: 'Replace both as a set.' }],
      parts: [{ componentKey: 'motor_brush_set', quantity: 1 }],
    },
    {
      key: 'check_chain',
      name: 'Check the chain tension',
      componentKey: 'chain',
      minutes: 15,
      skill: 'technician',
      reach: 'inside',
      triggers: [{ kind: 'calendar', months: 6 }],
      steps: [{ key: 'check', text: 'Check the slack.', answer: 'yes_no' }],
    },
    {
      key: 'interlock_check',
      name: 'Interlock and return movement',
      componentKey: 'interlock',
      minutes: 10,
      skill: 'technician',
      reach: 'cover_off',
      safetyCheck: true,
      triggers: [{ kind: 'calendar', months: 6 }],
      steps: [{ key: 'try', text: 'Try the interlock by hand.', answer: 'yes_no' }],
    },
  ],
}

async function must<T>(reply: Promise<{ status: number; body: T }>): Promise<Json> {
  const { status, body } = await reply
  if (status >= 300) throw new Error(JSON.stringify(body))
  return body
}

export async function makeOrganisation(api: TestApi, word: string): Promise<ApiOrganisation> {
  const organisationId = newId()
  const roles = ['administrator', 'manager', 'technician', 'instructed'] as const
  const rows = roles.map((role) => personRow(role, `${role}@${word}.example`))
  await seed(api, organisationId, { organisation: [{ id: organisationId, name: word, created_at: '2026-01-01T00:00:00Z' }], person: rows })
  const people = Object.fromEntries(rows.map((row) => [row.role, row.id])) as ApiOrganisation['people']
  const administrator = await api.signIn(`administrator@${word}.example`)
  const week = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, starts: '06:00', ends: '14:00' }))
  const warehouse = (name: string, zone: string) =>
    must(administrator('POST', 'warehouses', { name, zone, shifts: week, firstPersonId: people.manager }))
  const north = (await warehouse('North', 'Europe/Berlin')).id
  const south = (await warehouse('South', 'America/Chicago')).id
  await must(administrator('PUT', `warehouses/${north}/people`, { personIds: [people.technician, people.instructed] }))
  const type = await must(
    administrator('POST', 'machine-types', {
      name: 'Long-strip electric',
      drive: 'electric',
      supply: 'cord_and_plug',
      heater: true,
      shortestStripMm: 150,
      longestStripMm: 1150,
      meanStripMm: 500,
      lengthKeysMm: [150, 500, 1150],
      counterKind: 'strips',
      counterModulus: 1_000_000,
      mostStripsPerMinute: 20,
      stripToleranceMm: 10,
      brushNewMm: 12.7,
      brushPlanLimitMm: 9.5,
      brushNeverBelowMm: 6.4,
      plan: 'none',
    }),
  )
  await must(administrator('POST', `machine-types/${type.id}/service-plans`, PLAN))
  await must(
    administrator('POST', `people/${people.instructed}/instructions`, {
      machineTypeId: type.id,
      instructedOn: '2026-01-10',
      instructedBy: 'Mara',
    }),
  )
  const station = await must(
    administrator('POST', 'stations', { warehouseId: north, name: 'A01', line: 'A', walkingOrder: 1, stripsPerCarton: 2 }),
  )
  const machine = (labelCode: string, placement: object) =>
    must(administrator('POST', 'machines', { serialNumber: `S-${labelCode}`, labelCode, machineTypeId: type.id, placement }))
  const near = await machine('N-01', { warehouseId: north, stationId: station.id, fromAt: '2026-01-05T06:00:00Z' })
  const far = await machine('S-01', { warehouseId: south, fromAt: '2026-01-05T06:00:00Z' })
  const signIn = (role: string) => api.signIn(`${role}@${word}.example`)
  return {
    organisationId,
    administrator,
    manager: await signIn('manager'),
    technician: await signIn('technician'),
    instructed: await signIn('instructed'),
    people,
    north,
    south,
    station: station.id,
    machineTypeId: type.id,
    machineId: near.id,
    farMachineId: far.id,
  }
}

/** Of the one label that the organisation has printed and not cancelled. */
export async function printedToken(api: TestApi, { organisationId }: ApiOrganisation): Promise<string> {
  const rows = await api.database.withOrganisationSql(organisationId, (scope) =>
    scope.rows<{ token: string }>('SELECT token FROM machine_label WHERE cancelled_at IS NULL'),
  )
  return rows[0]?.token ?? ''
}
