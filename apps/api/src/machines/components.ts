import { readLives, yearsOfUse } from '@tapewarden/persistence'
import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import { type LifeOfComponent, remainingLifeOf, sayRemainingLife } from '@tapewarden/scheduling'
import type { MachineComponent, Measurement, RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import { takeOffDrafts } from '../occurrences/decisions.js'
import { daysBetween, localDateOf } from '../use/local-day.js'
import { placeOf } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'
import { noteSituation } from './move.js'

/** Defaults of the domain page (common practice), where a type states none. */
const BRUSH_DEFAULTS_MM = { newMm: 12.7, planMm: 9.5, neverBelowMm: 6.4 }

type ComponentRow = Record<string, unknown> & {
  componentId: string
  placementId: string
  typeId: string
  typeKey: string
  typeName: string
  newOn: string | null
  fromDate: string | null
  toDate: string | null
  removalReason: MachineComponent['removalReason']
  usedStrips: number | null
  note: string
  newMm: number | null
  planMm: number | null
  neverBelowMm: number | null
  wear: MachineComponent['wear']
  years_of_use: number | null
}

/**
 * Strips of the machine's ledger at the end of a day; nothing known before it counts as none.
 * The day is a CASE where it may be missing: row-level security lets no COALESCE look into the index, and a probe would read all years.
 */
function totalAt(day: string): string {
  return `COALESCE((SELECT l.strips_total FROM ledger_day l WHERE l.organisation_id = cp.organisation_id AND l.machine_id = cp.machine_id AND l.day <= ${day} ORDER BY l.day DESC LIMIT 1), 0)`
}
const TOTAL_TO = totalAt(`CASE WHEN cp.to_date IS NULL THEN 'infinity'::date ELSE cp.to_date END`)
const TOTAL_FROM = totalAt(`CASE WHEN cp.from_date IS NULL THEN '-infinity'::date ELSE cp.from_date END`)
export const USED_STRIPS = `cp.used_strips_before + GREATEST(${TOTAL_TO} - ${TOTAL_FROM}, 0)`

const SELECT = `SELECT c.id AS "componentId", cp.id AS "placementId", t.id AS "typeId", t.key AS "typeKey", t.name AS "typeName", c.new_on AS "newOn",
    cp.from_date AS "fromDate", cp.to_date AS "toDate", cp.removal_reason AS "removalReason", c.note,
    CASE WHEN c.new_on IS NULL THEN NULL ELSE ${USED_STRIPS} END AS "usedStrips",
    mt.brush_new_mm AS "newMm", mt.brush_plan_limit_mm AS "planMm", mt.brush_never_below_mm AS "neverBelowMm",
    (SELECT f.basis FROM forecast f JOIN plan_task pt ON pt.organisation_id = f.organisation_id AND pt.id = f.plan_task_id
      WHERE f.organisation_id = $1 AND f.machine_id = cp.machine_id AND cp.to_date IS NULL AND pt.component_type_id = t.id
        AND pt.triggers @> '[{"kind":"wear"}]' AND f.basis <> '{}' LIMIT 1) AS wear,${yearsOfUse('$3::date')}
  FROM component_placement cp JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
  JOIN component_type t ON t.organisation_id = c.organisation_id AND t.id = c.component_type_id
  JOIN machine m ON m.organisation_id = cp.organisation_id AND m.id = cp.machine_id
  JOIN machine_type mt ON mt.organisation_id = m.organisation_id AND mt.id = m.machine_type_id
  WHERE cp.organisation_id = $1 AND cp.machine_id = $2`

function limitsOf(row: ComponentRow): MachineComponent['limits'] {
  if (row.typeKey !== 'motor_brush_set') return null
  const { newMm, planMm, neverBelowMm } = row
  return {
    newMm: newMm ?? BRUSH_DEFAULTS_MM.newMm,
    planMm: planMm ?? BRUSH_DEFAULTS_MM.planMm,
    neverBelowMm: neverBelowMm ?? BRUSH_DEFAULTS_MM.neverBelowMm,
    stated: planMm !== null && neverBelowMm !== null,
  }
}

const YEAR_DAYS = 365.25

function lifeOf(row: ComponentRow, life: LifeOfComponent | undefined, today: string): MachineComponent['life'] {
  if (!life || row.toDate !== null) return null
  const lived = row.newOn === null ? null : (row.years_of_use ?? daysBetween(row.newOn, today) / YEAR_DAYS)
  const remaining = lived === null ? null : remainingLifeOf(life, Math.max(0, lived))
  return { sentence: sayRemainingLife(remaining, life, row.years_of_use !== null), remaining }
}

export async function listComponents(reading: Reading, machineId: string): Promise<RouteResult<Routes['machineComponents']>> {
  const place = await placeOf(reading, machineId)
  const today = localDateOf(reading.now, place.zone ?? 'UTC')
  const rows = await reading.rows<ComponentRow>(`${SELECT} ORDER BY cp.to_date DESC NULLS FIRST, t.name, cp.id`, [machineId, today])
  const lives = place.warehouseId ? await readLives(reading.scope, { warehouseIds: [place.warehouseId] }) : null
  const measurements = await reading.rows<Measurement & Record<string, unknown> & { componentId: string }>(
    `SELECT id, component_id AS "componentId", name, value_mm AS "valueMm", entered_unit AS "enteredUnit", entered_text AS "enteredText", when_taken AS "whenTaken",
       measured_on AS "measuredOn", state, set_aside_reason AS "setAsideReason"
     FROM measurement WHERE organisation_id = $1 AND component_id = ANY($2::uuid[]) ORDER BY measured_on, id`,
    [rows.map((row) => row.componentId)],
  )
  return {
    items: rows.map((row) => ({
      componentId: row.componentId,
      placementId: row.placementId,
      componentType: { id: row.typeId, key: row.typeKey, name: row.typeName },
      newOn: row.newOn,
      fromDate: row.fromDate,
      toDate: row.toDate,
      removalReason: row.removalReason,
      usedStrips: row.usedStrips,
      limits: limitsOf(row),
      measurements: measurements.filter((measurement) => measurement.componentId === row.componentId),
      wear: row.wear,
      life: lifeOf(row, lives?.get(place.warehouseId ?? '')?.[row.typeKey], today),
      note: row.note,
    })),
  }
}

export async function componentOf(changing: Changing, machineId: string, placementId: string): Promise<MachineComponent> {
  const { items } = await listComponents(changing, machineId)
  return items.find((item) => item.placementId === placementId) as MachineComponent
}

/** Rule 2: a component's clocks go with it, so what is open for its tasks here is superseded and computed anew. */
export async function supersedeTasksOf(
  changing: Changing,
  machineId: string,
  componentTypeId: string,
  today: string,
  reason: string,
): Promise<void> {
  const superseded = await changing.rows<{ id: string }>(
    `UPDATE occurrence o SET state = 'superseded', ended_on = GREATEST($4::date, o.opened_on), end_reason = $5, version = o.version + 1
     FROM plan_task pt WHERE o.organisation_id = $1 AND o.machine_id = $2 AND o.state = 'open'
       AND pt.organisation_id = o.organisation_id AND pt.id = o.plan_task_id AND pt.component_type_id = $3
     RETURNING o.id`,
    [machineId, componentTypeId, today, reason],
  )
  for (const { id } of superseded) await takeOffDrafts(changing, id)
}

async function existingComponent(changing: Changing, componentId: string, typeId: string): Promise<number> {
  const row = await changing.maybeOne<{ typeId: string; placed: boolean; used: number; newKnown: boolean }>(
    `SELECT c.component_type_id AS "typeId",
       EXISTS (SELECT 1 FROM component_placement x WHERE x.organisation_id = $1 AND x.component_id = c.id AND x.to_date IS NULL) AS placed,
       COALESCE((SELECT ${USED_STRIPS} FROM component_placement cp WHERE cp.organisation_id = $1 AND cp.component_id = c.id ORDER BY cp.to_date DESC LIMIT 1), 0) AS used
     FROM component c WHERE c.organisation_id = $1 AND c.id = $2 FOR UPDATE OF c`,
    [componentId],
  )
  if (!row) throw new InvalidError('UNKNOWN_COMPONENT', 'There is no such component.', '/componentId')
  if (row.typeId !== typeId) throw new InvalidError('WRONG_COMPONENT_TYPE', 'This component is of another type.', '/componentId')
  if (row.placed) throw new ConflictError('COMPONENT_IN_A_MACHINE', 'This component stands in a machine. Take it out there first.')
  return row.used
}

/** @returns id of the placement */
export async function fit(changing: Changing, machineId: string, body: RouteBody<Routes['fitComponent']>): Promise<string> {
  const place = await placeOf(changing, machineId, true)
  const today = localDateOf(changing.now, place.zone ?? 'UTC')
  if (body.fittedOn > today) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', '/fittedOn')
  if (body.newOn && body.newOn > body.fittedOn) throw new InvalidError('IN_THE_FUTURE', 'It cannot be new after it was fitted.', '/newOn')
  const type = await changing.maybeOne<{ id: string }>(
    `SELECT c.id FROM component_type c JOIN machine_type_component x ON x.organisation_id = c.organisation_id AND x.component_type_id = c.id
     WHERE c.organisation_id = $1 AND c.key = $2 AND x.machine_type_id = $3`,
    [body.componentKey, place.machineTypeId],
  )
  if (!type) throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'This machine type has no such component.', '/componentKey')
  const inPlace = await changing.maybeOne(
    `SELECT cp.id FROM component_placement cp JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
     WHERE cp.organisation_id = $1 AND cp.machine_id = $2 AND cp.to_date IS NULL AND c.component_type_id = $3`,
    [machineId, type.id],
  )
  if (inPlace) throw new ConflictError('COMPONENT_IN_PLACE', 'One of these is in place. Take it out first, with the reason.')
  const used = body.componentId === undefined ? 0 : await existingComponent(changing, body.componentId, type.id)
  const componentId = body.componentId ?? body.id ?? newId()
  if (body.componentId === undefined)
    await changing.run(`INSERT INTO component (organisation_id, id, component_type_id, new_on, note) VALUES ($1, $2, $3, $4, $5)`, [
      componentId,
      type.id,
      body.newOn === undefined ? body.fittedOn : body.newOn,
      body.note,
    ])
  const placementId = newId()
  await changing.run(
    `INSERT INTO component_placement (organisation_id, id, component_id, machine_id, from_date, used_strips_before) VALUES ($1, $2, $3, $4, $5, $6)`,
    [placementId, componentId, machineId, body.fittedOn, used],
  )
  await supersedeTasksOf(changing, machineId, type.id, today, 'component changed')
  if (body.componentKey.endsWith('_set')) await noteSituation(changing, machineId, 'brushes_replaced', changing.now, place.zone)
  changing.datesMayMove(place.warehouseId)
  return placementId
}

export async function fitComponent(
  changing: Changing,
  machineId: string,
  body: RouteBody<Routes['fitComponent']>,
): Promise<MachineComponent> {
  const after = await componentOf(changing, machineId, await fit(changing, machineId, body))
  changing.note({ action: 'fit component', subjectKind: 'machine', subjectId: machineId, after })
  return after
}

export async function removeComponent(
  changing: Changing,
  machineId: string,
  componentId: string,
  body: RouteBody<Routes['removeComponent']>,
): Promise<MachineComponent> {
  const place = await placeOf(changing, machineId, true)
  const today = localDateOf(changing.now, place.zone ?? 'UTC')
  const placed = await changing.one<{ id: string; fromDate: string | null; typeId: string }>(
    'component in this machine',
    `SELECT cp.id, cp.from_date AS "fromDate", c.component_type_id AS "typeId" FROM component_placement cp
     JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id
     WHERE cp.organisation_id = $1 AND cp.machine_id = $2 AND cp.component_id = $3 AND cp.to_date IS NULL FOR UPDATE OF cp`,
    [machineId, componentId],
  )
  if (body.removedOn > today) throw new InvalidError('IN_THE_FUTURE', 'This lies in the future.', '/removedOn')
  if (placed.fromDate !== null && body.removedOn < placed.fromDate)
    throw new InvalidError('BEFORE_FITTING', `It was fitted on ${placed.fromDate}.`, '/removedOn')
  await changing.run(`UPDATE component_placement SET to_date = $3, removal_reason = $4 WHERE organisation_id = $1 AND id = $2`, [
    placed.id,
    body.removedOn,
    body.reason,
  ])
  if (body.note !== '')
    await changing.run(`UPDATE component SET note = $3 WHERE organisation_id = $1 AND id = $2`, [componentId, body.note])
  await supersedeTasksOf(changing, machineId, placed.typeId, today, 'component taken out')
  const after = await componentOf(changing, machineId, placed.id)
  changing.note({ action: 'take out component', subjectKind: 'machine', subjectId: machineId, after })
  changing.datesMayMove(place.warehouseId)
  return after
}
