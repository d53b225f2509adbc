/** A fleet for benches: one warehouse, one type with six tasks, so many readings a machine. Made by the server, the same each time. */
import { newId } from '@tapewarden/platform'
import type { Client } from 'pg'

export interface Fleet {
  organisationId: string
  warehouseId: string
  /** The day after the newest reading. */
  today: string
}

const TASKS: readonly (readonly [key: string, component: string | null, reach: string, skill: string, triggers: readonly object[]])[] = [
  ['oil_blade_felt', 'blade_felt', 'outside', 'instructed', [{ kind: 'calendar_month' }]],
  [
    'look_at_moistener_brushes',
    'moistener_brush_set',
    'outside',
    'instructed',
    [{ kind: 'calendar_month' }, { kind: 'usage', unit: 'strips', amount: 20_000 }],
  ],
  ['measure_motor_brushes', 'motor_brush_set', 'cover_off', 'technician', [{ kind: 'calendar', months: 6, mode: 'nominal' }]],
  ['replace_motor_brushes', 'motor_brush_set', 'cover_off', 'technician', [{ kind: 'wear' }, { kind: 'finding' }]],
  [
    'inspect_blade',
    'blade',
    'cover_off',
    'technician',
    [
      { kind: 'calendar', months: 12, mode: 'nominal' },
      { kind: 'life', failedFraction: 0.1 },
    ],
  ],
  [
    'inspect_feed_wheel',
    'feed_wheel',
    'cover_off',
    'technician',
    [
      { kind: 'calendar', months: 12, mode: 'nominal' },
      { kind: 'usage', unit: 'strips', amount: 500_000 },
    ],
  ],
]
const AT = '2026-01-01T00:00:00Z'
const FIRST_READING = '2026-01-01'

async function places(owner: Client, fleet: Fleet): Promise<string> {
  const typeId = newId()
  const { organisationId: o, warehouseId: w } = fleet
  const [first, second] = [newId(), newId()]
  await owner.query(`INSERT INTO organisation VALUES ($1, 'Bench', $2)`, [o, AT])
  await owner.query(
    `INSERT INTO person (organisation_id, id, name, role, created_at) VALUES ($1, $2, 'First', 'manager', $4), ($1, $3, 'Second', 'technician', $4)`,
    [o, first, second, AT],
  )
  await owner.query(
    `INSERT INTO warehouse (organisation_id, id, name, zone, first_person_id, second_person_id, created_at) VALUES ($1, $2, 'Bench', 'Europe/Berlin', $3, $4, $5)`,
    [o, w, first, second, AT],
  )
  await owner.query(`INSERT INTO person_warehouse VALUES ($1, $2, $3)`, [o, second, w])
  await owner.query(`INSERT INTO shift SELECT $1, uuidv7(), $2, d, '06:00', '14:00' FROM generate_series(1, 5) d`, [o, w])
  await owner.query(
    `INSERT INTO machine_type (organisation_id, id, name, drive, supply, heater, shortest_strip_mm, longest_strip_mm, mean_strip_mm, most_strips_per_minute, counter_kind, usual_strips_per_day, created_at)
     VALUES ($1, $2, 'Bench electric', 'electric', 'cord_and_plug', true, 150, 1150, 500, 25, 'none', 800, $3)`,
    [o, typeId, AT],
  )
  return typeId
}

async function plan(owner: Client, fleet: Fleet, typeId: string): Promise<void> {
  const { organisationId: o } = fleet
  const planId = newId()
  await owner.query(`INSERT INTO component_type SELECT $1, uuidv7(), k, k FROM unnest($2::text[]) k`, [
    o,
    [...new Set(TASKS.map(([, component]) => component).filter((key) => key !== null))],
  ])
  await owner.query(
    `INSERT INTO service_plan (organisation_id, id, machine_type_id, plan_version, valid_from, created_at) VALUES ($1, $2, $3, 1, '2025-01-01', $4)`,
    [o, planId, typeId, AT],
  )
  for (const [position, [key, component, reach, skill, triggers]] of TASKS.entries()) {
    const taskId = newId()
    await owner.query(`INSERT INTO service_task VALUES ($1, $2, $3, $4)`, [o, taskId, typeId, key])
    await owner.query(
      `INSERT INTO plan_task (organisation_id, id, service_plan_id, service_task_id, position, name, component_type_id, minutes, skill, reach, triggers)
       VALUES ($1, uuidv7(), $2, $3, $4, $5, (SELECT id FROM component_type WHERE organisation_id = $1 AND key = $6), 10, $7, $8, $9)`,
      [o, planId, taskId, position, key, component, skill, reach, JSON.stringify(triggers)],
    )
  }
}

async function machines(owner: Client, fleet: Fleet, typeId: string, size: number): Promise<void> {
  const { organisationId: o, warehouseId: w } = fleet
  await owner.query(
    `INSERT INTO station (organisation_id, id, warehouse_id, name, line, walking_order) SELECT $1, uuidv7(), $2, 'S' || i, 'L' || (i % 20), i FROM generate_series(1, $3::int) i`,
    [o, w, size],
  )
  await owner.query(
    `INSERT INTO machine (organisation_id, id, machine_type_id, serial_number, label_code, commissioned_on, registered_on, status_since, created_at)
     SELECT $1, uuidv7(), $2, 'S' || i, 'L' || i, DATE '2025-06-01' + i % 180, DATE '2025-12-31', DATE '2025-12-31', $4 FROM generate_series(1, $3::int) i`,
    [o, typeId, size, AT],
  )
  // Joined a moment after they were made: without figures about them the server walks all stations for each machine.
  await owner.query('ANALYZE station, machine')
  await owner.query(
    `INSERT INTO placement (organisation_id, id, machine_id, warehouse_id, station_id, from_at)
     SELECT $1, uuidv7(), m.id, $2, s.id, '2025-06-01T00:00:00Z' FROM machine m JOIN station s ON s.organisation_id = $1 AND s.name = m.serial_number WHERE m.organisation_id = $1`,
    [o, w],
  )
  await owner.query(
    `WITH made AS (INSERT INTO component (organisation_id, id, component_type_id, new_on) SELECT m.organisation_id, uuidv7(), t.id, m.commissioned_on FROM machine m, component_type t
       WHERE m.organisation_id = $1 AND t.organisation_id = $1 AND t.key IN ('motor_brush_set', 'blade') RETURNING id, component_type_id, new_on),
     numbered AS (SELECT id, new_on, row_number() OVER (PARTITION BY component_type_id, new_on ORDER BY id) AS n FROM made),
     ranked AS (SELECT id, commissioned_on, row_number() OVER (PARTITION BY commissioned_on ORDER BY id) AS n FROM machine WHERE organisation_id = $1)
     INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date)
     SELECT $1, uuidv7(), c.id, m.id, c.new_on FROM numbered c JOIN ranked m ON m.commissioned_on = c.new_on AND m.n = c.n`,
    [o],
  )
  await owner.query('ANALYZE component, component_placement')
  await owner.query(
    `INSERT INTO measurement (organisation_id, id, machine_id, component_id, name, value_mm, measured_on, created_at)
     SELECT $1, uuidv7(), p.machine_id, p.component_id, 'motor_brush', 16 - 0.5 * (1 + (hashtext(p.machine_id::text) & 7) / 4.0), DATE '2026-01-15', $2
     FROM component_placement p JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = 'motor_brush_set'
     WHERE p.organisation_id = $1`,
    [o, AT],
  )
}

/** One reading of strips a machine and day, about 800 with a weekday's shape; deterministic. */
export async function addReadings(owner: Client, fleet: Fleet, from: string, days: number): Promise<void> {
  await owner.query(
    `INSERT INTO evidence (organisation_id, id, kind, warehouse_id, machine_id, from_date, to_date, amount, source, created_at)
     SELECT $1, uuidv7(), 'strips_day', $2, m.id, $3::date + d, $3::date + d, CASE WHEN extract(isodow FROM $3::date + d) > 5 THEN 0 ELSE 400 + (hashtext(m.id::text || ($3::date + d)::text) & 511) * 1.5 END, 'bench', $5
     FROM machine m, generate_series(0, $4::int - 1) d WHERE m.organisation_id = $1 ORDER BY m.id, d`,
    [fleet.organisationId, fleet.warehouseId, from, days, AT],
  )
}

export async function makeFleet(owner: Client, size: number, readings = 90): Promise<Fleet> {
  const today = new Date(Date.parse(`${FIRST_READING}T00:00:00Z`) + readings * 86_400_000).toISOString().slice(0, 10)
  const fleet = { organisationId: newId(), warehouseId: newId(), today }
  const typeId = await places(owner, fleet)
  await plan(owner, fleet, typeId)
  await machines(owner, fleet, typeId, size)
  await addReadings(owner, fleet, FIRST_READING, readings)
  await owner.query('ANALYZE')
  return fleet
}
