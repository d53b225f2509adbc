/** Component types, machine types, their service plans, and the parts that fit them. */
import { newId } from '@tapewarden/platform'
import { COMPONENT_KEYS } from '@tapewarden/shared'
import { defaultPlanFor } from '@tapewarden/scheduling'
import type { Hall } from './places.js'
import type { Rows } from './rows.js'
import { TYPES, type TypeScenario } from './scenario.js'

export interface KnownType extends TypeScenario {
  id: string
  planId: string
  /** Service task id by task key. */
  tasks: Map<string, string>
}

const NOT_ON_HAND_DRIVEN = new Set([
  'motor_brush_set',
  'heater',
  'chain',
  'interlock',
  'solenoid',
  'tape_sensor',
  'cord_and_plug',
  'control_board',
  'feed_clutch',
])

export function addComponentTypes(rows: Rows): Map<string, string> {
  const ids = new Map<string, string>()
  for (const key of COMPONENT_KEYS) {
    ids.set(key, newId())
    rows.add('component_type', { id: ids.get(key), key, name: key.replaceAll('_', ' ').replace(/^./, (letter) => letter.toUpperCase()) })
  }
  return ids
}

export function addTypes(rows: Rows, components: Map<string, string>, now: string, validFrom: string): Map<string, KnownType> {
  const known = new Map<string, KnownType>()
  for (const scenario of TYPES) {
    const type: KnownType = { ...scenario, id: newId(), planId: newId(), tasks: new Map() }
    known.set(type.key, type)
    addType(rows, type, now)
    for (const [key, id] of components)
      if (hasComponent(type, key)) rows.add('machine_type_component', { machine_type_id: type.id, component_type_id: id })
    addPlan(rows, type, components, now, validFrom)
  }
  return known
}

export function hasComponent(type: TypeScenario, key: string): boolean {
  if (type.drive === 'hand' && NOT_ON_HAND_DRIVEN.has(key)) return false
  if (key === 'heater') return type.heater
  if (key === 'length_keys') return type.lengthKeysMm.length > 0
  return true
}

function addType(rows: Rows, type: KnownType, now: string): void {
  const electric = type.drive === 'electric'
  rows.add('machine_type', {
    id: type.id,
    name: type.name,
    drive: type.drive,
    supply: type.supply,
    heater: type.heater,
    felt_behind_cover: type.feltBehindCover,
    shortest_strip_mm: type.shortestStripMm,
    longest_strip_mm: type.longestStripMm,
    length_keys_mm: type.lengthKeysMm,
    free_length: type.freeLength,
    mean_strip_mm: type.meanStripMm,
    tape_width_mm: 70,
    feed_speed_m_per_min: type.feedSpeedMPerMin,
    start_up_seconds_per_strip: type.startUpSeconds,
    most_strips_per_minute: type.mostStripsPerMinute,
    counter_kind: type.counterKind,
    counter_modulus: type.counterModulus,
    usual_strips_per_day: type.usualStripsPerDay,
    brush_new_mm: electric ? 12.7 : null,
    brush_plan_limit_mm: electric ? 9.5 : null,
    brush_never_below_mm: electric ? 6.4 : null,
    strips_from_new_to_plan_limit: type.stripsFromNewToPlanLimit,
    strip_tolerance_mm: 10,
    blade_life_unit: 'years',
    version: 1,
    created_at: now,
  })
}

function addPlan(rows: Rows, type: KnownType, components: Map<string, string>, now: string, validFrom: string): void {
  rows.add('service_plan', {
    id: type.planId,
    machine_type_id: type.id,
    plan_version: 1,
    valid_from: validFrom,
    note: 'The default plan',
    created_at: now,
  })
  for (const [position, task] of defaultPlanFor(type).entries()) {
    const taskId = newId()
    type.tasks.set(task.key, taskId)
    rows.add('service_task', { id: taskId, machine_type_id: type.id, key: task.key })
    rows.add('plan_task', {
      id: newId(),
      service_plan_id: type.planId,
      service_task_id: taskId,
      position,
      name: task.name,
      component_type_id: task.componentKey === null ? null : components.get(task.componentKey),
      minutes: task.minutes,
      skill: task.skill,
      reach: task.reach,
      at_the_bench: task.atTheBench,
      safety_check: task.safetyCheck,
      uses_solvent: task.usesSolvent,
      overrun_counts: false,
      triggers: task.triggers,
      steps: task.steps,
      measurements: task.measurements,
      cautions: task.cautions,
      parts: task.parts,
    })
  }
}

const PARTS = [
  {
    code: 'BR-SHORT',
    name: 'Motor brush set, short-strip types',
    component: 'motor_brush_set',
    fits: ['keys_heated', 'counting', 'small'],
    price: 24.5,
  },
  { code: 'BR-LONG', name: 'Motor brush set, long-strip types', component: 'motor_brush_set', fits: ['long_wired'], price: 31 },
  { code: 'BL-STD', name: 'Blade', component: 'blade', fits: ['keys_heated', 'counting', 'small', 'lever'], price: 88 },
  { code: 'BL-LONG', name: 'Blade, long-strip types', component: 'blade', fits: ['long_wired'], price: 132 },
  {
    code: 'MB-STD',
    name: 'Moistener brush set',
    component: 'moistener_brush_set',
    fits: ['keys_heated', 'counting', 'small', 'lever', 'long_wired'],
    price: 14.9,
  },
  { code: 'FW-STD', name: 'Feed wheel', component: 'feed_wheel', fits: ['keys_heated', 'counting', 'small'], price: 46 },
] as const

export function addParts(rows: Rows, types: Map<string, KnownType>, components: Map<string, string>, halls: Hall[]): void {
  for (const [index, part] of PARTS.entries()) {
    const id = newId()
    rows.add('part', { id, name: part.name, stock_code: part.code, component_type_id: components.get(part.component), price: part.price })
    for (const key of part.fits) rows.add('part_fit', { part_id: id, machine_type_id: types.get(key)?.id })
    for (const [place, hall] of halls.entries())
      rows.add('part_stock', {
        part_id: id,
        warehouse_id: hall.id,
        on_hand: (index * 2 + place) % 4,
        reserved: 0,
        on_order: index === 0 && place === 0 ? 2 : 0,
        lead_time_days: [9, 12, 21][place],
      })
  }
}
