import type { MachineType, RouteResult, Routes } from '@tapewarden/shared'
import type { Columns } from '../use/patch.js'
import type { Reading } from '../use/work.js'

type MachineTypeRow = MachineType & Record<string, unknown>

export const MACHINE_TYPE_COLUMNS: Columns = {
  name: 'name',
  drive: 'drive',
  supply: 'supply',
  heater: 'heater',
  feltBehindCover: 'felt_behind_cover',
  shortestStripMm: 'shortest_strip_mm',
  longestStripMm: 'longest_strip_mm',
  lengthKeysMm: 'length_keys_mm',
  freeLength: 'free_length',
  meanStripMm: 'mean_strip_mm',
  tapeWidthMm: 'tape_width_mm',
  feedSpeedMPerMin: 'feed_speed_m_per_min',
  startUpSecondsPerStrip: 'start_up_seconds_per_strip',
  mostStripsPerMinute: 'most_strips_per_minute',
  counterKind: 'counter_kind',
  counterModulus: 'counter_modulus',
  usualStripsPerDay: 'usual_strips_per_day',
  brushNewMm: 'brush_new_mm',
  brushPlanLimitMm: 'brush_plan_limit_mm',
  brushNeverBelowMm: 'brush_never_below_mm',
  stripsFromNewToPlanLimit: 'strips_from_new_to_plan_limit',
  stripToleranceMm: 'strip_tolerance_mm',
  bladeLifeUnit: 'blade_life_unit',
  assumed: 'assumed',
}

const FIELDS = Object.entries(MACHINE_TYPE_COLUMNS)
  .map(([field, column]) => `t.${column} AS "${field}"`)
  .join(', ')

const SELECT = `SELECT t.id, ${FIELDS}, t.version,
    COALESCE((SELECT jsonb_agg(jsonb_build_object('id', c.id, 'key', c.key, 'name', c.name) ORDER BY c.name)
      FROM machine_type_component x JOIN component_type c ON c.organisation_id = x.organisation_id AND c.id = x.component_type_id
      WHERE x.organisation_id = t.organisation_id AND x.machine_type_id = t.id), '[]') AS "componentTypes",
    (SELECT count(*)::int FROM machine m WHERE m.organisation_id = t.organisation_id AND m.machine_type_id = t.id) AS "machineCount",
    plan.id AS "currentPlanId", plan.plan_version AS "currentPlanVersion"
  FROM machine_type t
  LEFT JOIN LATERAL (SELECT s.id, s.plan_version FROM service_plan s WHERE s.organisation_id = t.organisation_id AND s.machine_type_id = t.id
    ORDER BY s.plan_version DESC LIMIT 1) plan ON true
  WHERE t.organisation_id = $1`

export async function listMachineTypes(reading: Reading): Promise<RouteResult<Routes['listMachineTypes']>> {
  return { items: await reading.rows<MachineTypeRow>(`${SELECT} ORDER BY t.name, t.id`) }
}

export function getMachineType(reading: Reading, machineTypeId: string): Promise<MachineType> {
  return reading.one<MachineTypeRow>('machine type', `${SELECT} AND t.id = $2`, [machineTypeId])
}

export async function listComponentTypes(reading: Reading): Promise<RouteResult<Routes['listComponentTypes']>> {
  const items = await reading.rows<{ id: string; key: string; name: string }>(
    `SELECT id, key, name FROM component_type WHERE organisation_id = $1 ORDER BY name, id`,
  )
  return { items }
}
