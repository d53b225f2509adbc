/** Sixty machines: where they stand, since when, with which components; some on the shelf, two at one station. */
import { newId } from '@tapewarden/platform'
import { addDays } from './days.js'
import type { Hall } from './places.js'
import type { Random } from './random.js'
import type { Rows } from './rows.js'
import { TYPES_BY_LINE } from './scenario.js'
import { hasComponent, type KnownType } from './types.js'

export interface DemoMachine {
  id: string
  hall: Hall
  type: KnownType
  stationId: string | null
  labelCode: string
  share: number
  status: 'in_service' | 'on_the_shelf' | 'at_the_bench' | 'tagged_out'
  statusSince: string
  commissionedOn: string | null
  /** True strips on an ordinary working day. */
  level: number
  brushSetId: string | null
  brushNewOn: string | null
}

export function addMachines(
  rows: Rows,
  halls: Hall[],
  types: Map<string, KnownType>,
  components: Map<string, string>,
  random: Random,
  now: string,
): DemoMachine[] {
  const machines: DemoMachine[] = []
  let number = 100
  for (const hall of halls) {
    const turn: Record<string, number> = {}
    for (const [index, station] of hall.stations.entries()) {
      const keys = TYPES_BY_LINE[station.line] ?? ['keys_heated']
      const position = (turn[station.line] = (turn[station.line] ?? -1) + 1)
      const type = types.get(keys[position % keys.length] as string) as KnownType
      const twin = hall.key === 'north' && index === 2
      machines.push(machineAt(hall, type, station.id, (number += random.whole(1, 3)), twin ? 0.6 : 1, random))
      if (twin) machines.push(machineAt(hall, type, station.id, (number += 1), 0.4, random))
    }
  }
  for (const [hallIndex, key] of [
    [0, 'keys_heated'],
    [1, 'counting'],
  ] as const)
    machines.push(machineAt(halls[hallIndex] as Hall, types.get(key) as KnownType, null, (number += 2), 1, random))
  const bench = machines[9] as DemoMachine
  Object.assign(bench, { status: 'at_the_bench', statusSince: addDays(bench.hall.today, -9) })
  const tagged = machines[31] as DemoMachine
  Object.assign(tagged, { status: 'tagged_out', statusSince: addDays(tagged.hall.today, -2) })
  for (const machine of machines) addMachine(rows, machine, components, random, now)
  return machines
}

function machineAt(hall: Hall, type: KnownType, stationId: string | null, number: number, share: number, random: Random): DemoMachine {
  const onShelf = stationId === null
  const ageDays = random.whole(200, 365 * 14)
  return {
    id: newId(),
    hall,
    type,
    stationId,
    labelCode: `ML-${number}`,
    share,
    status: onShelf ? 'on_the_shelf' : 'in_service',
    statusSince: addDays(hall.today, onShelf ? -random.whole(40, 200) : -ageDays),
    commissionedOn: random.chance(0.25) ? null : addDays(hall.today, -ageDays),
    level: type.usualStripsPerDay * share * Math.exp(random.normal(-0.1, 0.35)),
    brushSetId: null,
    brushNewOn: null,
  }
}

function addMachine(rows: Rows, machine: DemoMachine, components: Map<string, string>, random: Random, now: string): void {
  const { hall, type } = machine
  const registered = addDays(hall.today, -560)
  rows.add('machine', {
    id: machine.id,
    machine_type_id: type.id,
    serial_number: `${type.key.slice(0, 1).toUpperCase()}${random.whole(10_000, 99_999)}-${machine.labelCode.slice(3)}`,
    label_code: machine.labelCode,
    commissioned_on: machine.commissionedOn,
    registered_on: registered,
    owner: type.key === 'long_wired' ? 'leased' : 'own',
    service_firm: type.key === 'long_wired' ? 'Fenwright Service' : '',
    service_telephone: type.key === 'long_wired' ? '+1 555 0142' : '',
    may_open: 'our_technicians',
    tape: random.chance(0.7) ? 'plain' : random.chance(0.6) ? 'reinforced' : 'unknown',
    status: machine.status,
    status_since: machine.statusSince,
    version: 1,
    note: '',
    created_at: now,
  })
  const start = `${registered}T06:00:00Z`
  const changed = `${machine.statusSince}T12:00:00Z`
  const moved = machine.status !== 'in_service' && changed > start
  rows.add('machine_status_period', {
    id: newId(),
    machine_id: machine.id,
    status: moved ? 'in_service' : machine.status,
    from_at: start,
    to_at: moved ? changed : null,
    reason: '',
  })
  if (moved)
    rows.add('machine_status_period', {
      id: newId(),
      machine_id: machine.id,
      status: machine.status,
      from_at: changed,
      to_at: null,
      reason: REASONS[machine.status] ?? '',
    })
  rows.add('placement', {
    id: newId(),
    machine_id: machine.id,
    warehouse_id: hall.id,
    station_id: machine.stationId,
    from_at: start,
    to_at: null,
    share_of_station: machine.share,
  })
  addComponents(rows, machine, components, random)
}

const REASONS: Record<string, string> = {
  on_the_shelf: 'Spare',
  at_the_bench: 'Feed clutch slips',
  tagged_out: 'Cord damaged at the clamp',
}

function addComponents(rows: Rows, machine: DemoMachine, components: Map<string, string>, random: Random): void {
  for (const [key, typeId] of components) {
    if (
      !['motor_brush_set', 'blade', 'blade_felt', 'moistener_brush_set', 'feed_wheel', 'chain', 'feed_clutch'].includes(key) ||
      !hasComponent(machine.type, key)
    )
      continue
    const id = newId()
    const newOn = componentAge(machine, key, random)
    if (key === 'motor_brush_set') Object.assign(machine, { brushSetId: id, brushNewOn: newOn })
    rows.add('component', { id, component_type_id: typeId, new_on: newOn, counts_in_life_data: newOn !== null, note: '' })
    rows.add('component_placement', {
      id: newId(),
      component_id: id,
      machine_id: machine.id,
      from_date: newOn,
      to_date: null,
      removal_reason: null,
      used_strips_before: 0,
    })
  }
}

/** Brush and moistener sets are younger than the machine; older parts came with it, where that day is known. */
function componentAge(machine: DemoMachine, key: string, random: Random): string | null {
  const { today } = machine.hall
  if (key === 'motor_brush_set') return random.chance(0.12) ? null : later(addDays(today, -random.whole(20, 540)), machine.commissionedOn)
  if (key === 'moistener_brush_set')
    return random.chance(0.2) ? null : later(addDays(today, -random.whole(30, 500)), machine.commissionedOn)
  return machine.commissionedOn
}

const later = (date: string, other: string | null): string => (other !== null && other > date ? other : date)

/** A dozen blades that came with their machines and were replaced of late: the life data of the firm. */
export function addRemovedBlades(rows: Rows, machines: DemoMachine[], components: Map<string, string>, random: Random): void {
  const old = machines.filter((machine) => machine.type.drive === 'electric' && machine.commissionedOn !== null).slice(0, 14)
  const bladeId = components.get('blade')
  const parts = new Map((rows.byTable.get('component') ?? []).map((row) => [row.id, row]))
  for (const machine of old) {
    // Since the machine is in the books: what came out before is not known to be all that did.
    const removed = addDays(machine.hall.today, -random.whole(30, 520))
    const inPlace = (rows.byTable.get('component_placement') ?? []).find(
      (row) => row.machine_id === machine.id && parts.get(row.component_id)?.component_type_id === bladeId,
    )
    if (!inPlace || machine.commissionedOn === null || machine.commissionedOn >= removed) continue
    inPlace.from_date = removed
    Object.assign(parts.get(inPlace.component_id) ?? {}, { new_on: removed })
    const id = newId()
    rows.add('component', { id, component_type_id: bladeId, new_on: machine.commissionedOn, counts_in_life_data: true, note: '' })
    rows.add('component_placement', {
      id: newId(),
      component_id: id,
      machine_id: machine.id,
      from_date: machine.commissionedOn,
      to_date: removed,
      removal_reason: random.pick(['worn', 'worn', 'broken', 'planned']),
      used_strips_before: 0,
    })
  }
}
