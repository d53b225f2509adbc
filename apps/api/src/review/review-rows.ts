import type { Moments } from '../stoppages/durations.js'
import type { Reading } from '../use/work.js'
import type { Interval } from './intervals.js'

/** As lean as ten thousand of them need it; their names are looked up for those that are shown. */
export interface ReviewedMachine extends Record<string, unknown> {
  id: string
  labelCode: string
  typeId: string
  /** Where it stood last. */
  warehouseId: string
  stationId: string | null
  /** In service over the whole period and longer; of others the spells are read. */
  throughout: boolean
}

export interface ReviewedWarehouse extends Record<string, unknown> {
  id: string
  currency: string
  stoppageCostPerHour: number | null
}

export interface Asked {
  from: string
  to: string
  warehouseId?: string | undefined
  machineTypeId?: string | undefined
}

/** Epoch milliseconds; of all ways to ask for them the cheapest. */
const MS = (column: string) => `round(date_part('epoch', ${column}) * 1000)`
/** $2 reach, $3 the warehouse asked about. */
export const inWarehouses = (column: string) => `($2::uuid[] IS NULL OR ${column} = ANY($2)) AND ($3::uuid IS NULL OR ${column} = $3)`
/** $4 the machine type asked about. */
const ofType = (column: string) =>
  `($4::uuid IS NULL OR ${column} IN (SELECT z.id FROM machine z WHERE z.organisation_id = $1 AND z.machine_type_id = $4))`

const scopeOf = (reading: Reading, { warehouseId, machineTypeId }: Asked) =>
  [reading.who.warehouseIds, warehouseId ?? null, machineTypeId ?? null] as const

/** Machines that stood in the warehouses in the period, or of which something is on record there then; each named by where it stood last. */
export function reviewedMachines(reading: Reading, asked: Asked): Promise<ReviewedMachine[]> {
  return reading.rows<ReviewedMachine>(
    `WITH last AS (SELECT DISTINCT ON (y.machine_id) y.machine_id, y.warehouse_id, y.station_id FROM placement y
       WHERE y.organisation_id = $1 AND ${inWarehouses('y.warehouse_id')} ORDER BY y.machine_id, y.to_at DESC NULLS FIRST, y.from_at DESC)
     SELECT m.id, m.label_code AS "labelCode", m.machine_type_id AS "typeId", p.warehouse_id AS "warehouseId", p.station_id AS "stationId",
       m.id IN (SELECT y.machine_id FROM machine_status_period y WHERE y.organisation_id = $1 AND y.status = 'in_service'
         AND y.from_at < ($5::date - 1) AND COALESCE(y.to_at, 'infinity') >= ($6::date + 2)) AS throughout
     FROM machine m JOIN last p ON p.machine_id = m.id
     WHERE m.organisation_id = $1 AND ($4::uuid IS NULL OR m.machine_type_id = $4) AND (
       m.id IN (SELECT y.machine_id FROM placement y WHERE y.organisation_id = $1 AND ${inWarehouses('y.warehouse_id')}
         AND y.from_at < ($6::date + 2) AND COALESCE(y.to_at, 'infinity') >= ($5::date - 1))
       OR m.id IN (SELECT y.machine_id FROM stoppage y WHERE y.organisation_id = $1 AND ${inWarehouses('y.warehouse_id')}
         AND y.failed_at < ($6::date + 2) AND COALESCE(y.back_in_use_at, 'infinity') >= ($5::date - 1))
       OR m.id IN (SELECT y.machine_id FROM occurrence y WHERE y.organisation_id = $1 AND ${inWarehouses('y.warehouse_id')}
         AND y.ended_on BETWEEN $5 AND $6))
     ORDER BY m.label_code, m.id`,
    [...scopeOf(reading, asked), asked.from, asked.to],
  )
}

/** By machine, up to now where they still last. */
export type Spells = ReadonlyMap<string, Interval[]>

async function spells(reading: Reading, text: string, values: readonly (string | null | readonly string[])[]): Promise<Spells> {
  const rows = await reading.scope.arrays<[string, number, number | null]>(text, [reading.organisationId, ...values])
  const byMachine = new Map<string, Interval[]>()
  for (const [machineId, from, to] of rows) {
    const spell = { from, to: to ?? reading.now.getTime() }
    const own = byMachine.get(machineId)
    if (own) own.push(spell)
    else byMachine.set(machineId, [spell])
  }
  return byMachine
}

/** While they were in service, as far as that touches the period. */
export function inService(reading: Reading, machines: readonly ReviewedMachine[], { from, to }: Asked): Promise<Spells> {
  return spells(
    reading,
    `SELECT machine_id, ${MS('from_at')}, ${MS('to_at')} FROM machine_status_period
     WHERE organisation_id = $1 AND status = 'in_service' AND from_at < ($3::date + 2) AND COALESCE(to_at, 'infinity') >= ($2::date - 1) AND machine_id = ANY($4::uuid[])`,
    [from, to, machines.flatMap(({ id, throughout }) => (throughout ? [] : [id]))],
  )
}

/** While it stood in warehouses that are not asked about. */
export async function elsewhere(reading: Reading, asked: Asked): Promise<Spells> {
  if (reading.who.warehouseIds === null && asked.warehouseId === undefined) return new Map()
  return spells(
    reading,
    `SELECT machine_id, ${MS('from_at')}, ${MS('to_at')} FROM placement
     WHERE organisation_id = $1 AND NOT (${inWarehouses('warehouse_id')}) AND from_at < ($5::date + 2) AND COALESCE(to_at, 'infinity') >= ($4::date - 1)`,
    [reading.who.warehouseIds, asked.warehouseId ?? null, asked.from, asked.to],
  )
}

export interface EndedCare extends Record<string, unknown> {
  ended: number
  inTime: number
  missed: number
}

/** Care that ended in the period: done, or counted as missed. In time: done before it was late; superseded and skipped say nothing. */
const ENDED = `count(*)::int AS ended, count(*) FILTER (WHERE state = 'done' AND (late_from IS NULL OR done_on < late_from))::int AS "inTime",
    count(*) FILTER (WHERE counted_as_missed)::int AS missed
  FROM occurrence WHERE organisation_id = $1 AND ${inWarehouses('warehouse_id')} AND (state = 'done' OR counted_as_missed)`

export async function endedCare(reading: Reading, asked: Asked): Promise<EndedCare> {
  const text = `SELECT ${ENDED} AND ${ofType('machine_id')} AND ended_on BETWEEN $5 AND $6`
  return (await reading.maybeOne<EndedCare>(text, [...scopeOf(reading, asked), asked.from, asked.to])) ?? { ended: 0, inTime: 0, missed: 0 }
}

/** The same for single machines; one of which nothing ended has none. */
export async function endedCareOf(reading: Reading, machineIds: readonly string[], asked: Asked): Promise<Map<string, EndedCare>> {
  const rows = await reading.rows<EndedCare & { machineId: string }>(
    `SELECT machine_id AS "machineId", ${ENDED} AND machine_id = ANY($4::uuid[]) AND ended_on BETWEEN $5 AND $6 GROUP BY machine_id`,
    [reading.who.warehouseIds, asked.warehouseId ?? null, machineIds, asked.from, asked.to],
  )
  return new Map(rows.map((row) => [row.machineId, row]))
}

export interface ReviewedStoppage extends Record<string, unknown>, Moments {
  machineId: string
  warehouseId: string
  planned: boolean
  componentName: string | null
  cause: string
}

/** Those that reach into the period, with no more than the review asks of them: a large fleet has thousands in a year. */
export function reviewedStoppages(reading: Reading, asked: Asked): Promise<ReviewedStoppage[]> {
  return reading.rows<ReviewedStoppage>(
    `SELECT x.machine_id AS "machineId", x.warehouse_id AS "warehouseId", x.planned, ${MS('x.failed_at')} AS failed, ${MS('x.noticed_at')} AS noticed,
       ${MS('x.reported_at')} AS reported, ${MS('x.work_begun_at')} AS "workBegun", ${MS('x.repaired_at')} AS repaired, ${MS('x.checked_at')} AS checked,
       ${MS('x.back_in_use_at')} AS "backInUse", x.waits, c.name AS "componentName", x.cause
     FROM stoppage x LEFT JOIN component_type c ON c.organisation_id = x.organisation_id AND c.id = x.component_type_id
     WHERE x.organisation_id = $1 AND ${inWarehouses('x.warehouse_id')} AND ${ofType('x.machine_id')} AND x.failed_at < ($6::date + 2)
       AND COALESCE(x.back_in_use_at, 'infinity') >= ($5::date - 1) ORDER BY x.failed_at, x.id`,
    [...scopeOf(reading, asked), asked.from, asked.to],
  )
}

export function reviewedWarehouses(reading: Reading): Promise<ReviewedWarehouse[]> {
  return reading.rows<ReviewedWarehouse>(
    `SELECT id, currency, stoppage_cost_per_hour AS "stoppageCostPerHour" FROM warehouse WHERE organisation_id = $1`,
  )
}

export interface Names {
  types: ReadonlyMap<string, string>
  stations: ReadonlyMap<string, string>
}

/** What those that are shown are called. */
export async function namesOf(reading: Reading, machines: readonly ReviewedMachine[]): Promise<Names> {
  const named = async (table: 'machine_type' | 'station', ids: readonly (string | null)[]): Promise<Map<string, string>> => {
    const asked = [...new Set(ids)].filter((id) => id !== null)
    const rows = await reading.rows<{ id: string; name: string }>(
      `SELECT id, name FROM ${table} WHERE organisation_id = $1 AND id = ANY($2::uuid[])`,
      [asked],
    )
    return new Map(rows.map(({ id, name }) => [id, name]))
  }
  return {
    types: await named(
      'machine_type',
      machines.map(({ typeId }) => typeId),
    ),
    stations: await named(
      'station',
      machines.map(({ stationId }) => stationId),
    ),
  }
}
