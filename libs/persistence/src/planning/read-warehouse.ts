import { planPartSchema, type PeakBars, type Trigger, triggerSchema } from '@tapewarden/shared/vocabulary'
import type { FirstRound, PlanTask, UseElsewhere, WarehouseCalendar } from '@tapewarden/scheduling'
import { z } from 'zod'
import type { PgScope } from '../pg-scope.js'
import { dayNumber } from './days.js'
import type { WarehousePeople } from './people.js'
import { readUseElsewhere } from './read-use-elsewhere.js'

export interface TypeRow {
  id: string
  drive: string
  shortest_strip_mm: number
  longest_strip_mm: number
  mean_strip_mm: number | null
  feed_speed_m_per_min: number | null
  start_up_seconds_per_strip: number | null
  most_strips_per_minute: number | null
  counter_kind: string
  counter_modulus: number | null
  usual_strips_per_day: number | null
  brush_new_mm: number | null
  brush_plan_limit_mm: number | null
  brush_never_below_mm: number | null
  strips_from_new_to_plan_limit: number | null
  blade_life_unit: string
}

export interface WarehouseFacts {
  warehouseId: string
  calendar: WarehouseCalendar
  people: WarehousePeople
  evidenceVersion: number
  plannedVersion: number
  types: ReadonlyMap<string, TypeRow>
  /** The plan in force today, by machine type; each with the day from which it holds. */
  plans: ReadonlyMap<string, { validFrom: number; tasks: readonly PlanTask[] }>
  taskById: ReadonlyMap<string, PlanTask>
  firstRound: FirstRound | null
  useElsewhere: readonly UseElsewhere[]
}

interface WarehouseRow extends Record<string, unknown> {
  zone: string
  first_person_id: string | null
  second_person_id: string | null
  evidence_version: number
  planned_version: number
  technician_hours_a_week: number | null
  shifts: { weekday: number; starts: string; ends: string }[]
  closures: { from_date: string; to_date: string }[]
  peaks: { from_date: string; to_date: string; usage_multiplier: number; bars: PeakBars }[]
}

const WAREHOUSE = `
  SELECT zone, first_person_id, second_person_id, evidence_version, planned_version, technician_hours_a_week,
    (SELECT coalesce(jsonb_agg(to_jsonb(s)), '[]') FROM shift s WHERE s.organisation_id = $1 AND s.warehouse_id = $2) AS shifts,
    (SELECT coalesce(jsonb_agg(to_jsonb(c) ORDER BY c.from_date), '[]') FROM closure c WHERE c.organisation_id = $1 AND c.warehouse_id = $2) AS closures,
    (SELECT coalesce(jsonb_agg(to_jsonb(p) ORDER BY p.from_date), '[]') FROM peak p WHERE p.organisation_id = $1 AND p.warehouse_id = $2) AS peaks
  FROM warehouse WHERE organisation_id = $1 AND id = $2`

/** Minutes since local midnight. */
function minutesOf(text: string): number {
  const [hours, minutes] = text.split(':').map(Number)
  return (hours ?? 0) * 60 + (minutes ?? 0)
}

/** A shift that ends at or before its start ends on the next day. */
function shiftMinutesByWeekday(shifts: WarehouseRow['shifts']): number[] {
  const minutes = new Array<number>(8).fill(0)
  for (const { weekday, starts, ends } of shifts) {
    const length = minutesOf(ends) - minutesOf(starts)
    minutes[weekday] = (minutes[weekday] ?? 0) + (length > 0 ? length : length + 1440)
  }
  return minutes
}

function calendarOf(row: WarehouseRow): WarehouseCalendar {
  return {
    zone: row.zone,
    shiftMinutes: shiftMinutesByWeekday(row.shifts),
    shifts: row.shifts.map(({ weekday, starts, ends }) => ({ weekday, startsMinute: minutesOf(starts), endsMinute: minutesOf(ends) })),
    closures: row.closures.map((closure) => ({ from: dayNumber(closure.from_date), to: dayNumber(closure.to_date) })),
    peaks: row.peaks.map((peak) => ({
      from: dayNumber(peak.from_date),
      to: dayNumber(peak.to_date),
      usageMultiplier: peak.usage_multiplier,
      bars: peak.bars,
    })),
  }
}

const PEOPLE = `
  SELECT p.id AS "personId", p.role, p.lead_days AS "leadDays", p.reminder_mail AS "takesReminders",
    EXISTS (SELECT 1 FROM person_warehouse w WHERE w.organisation_id = $1 AND w.person_id = p.id AND w.warehouse_id = $2) AS "servesHere",
    (SELECT coalesce(jsonb_agg(jsonb_build_object('from', a.from_date, 'to', a.to_date, 'cover', a.cover_person_id)), '[]')
     FROM absence a WHERE a.organisation_id = $1 AND a.person_id = p.id AND a.to_date >= $3) AS away
  FROM person p WHERE p.organisation_id = $1 AND p.disabled_at IS NULL ORDER BY p.id`

interface PersonRow extends Record<string, unknown> {
  personId: string
  role: string
  leadDays: number
  servesHere: boolean
  takesReminders: boolean
  away: { from: string; to: string; cover: string | null }[]
}

function peopleOf(rows: readonly PersonRow[], warehouse: WarehouseRow): WarehousePeople {
  return {
    firstPersonId: warehouse.first_person_id,
    secondPersonId: warehouse.second_person_id,
    people: rows.map(({ personId, role, servesHere, leadDays, takesReminders }) => ({
      personId,
      role,
      servesHere,
      leadDays,
      takesReminders,
    })),
    absences: rows.flatMap(({ personId, away }) =>
      away.map(({ from, to, cover }) => ({ personId, from: dayNumber(from), to: dayNumber(to), coverPersonId: cover })),
    ),
  }
}

/** The newest plan of each type that holds today, with the longest lead of the parts that a task takes here. */
const PLANS = `
  WITH holding AS (
    SELECT DISTINCT ON (machine_type_id) id, machine_type_id, plan_version, valid_from FROM service_plan
    WHERE organisation_id = $1 AND valid_from <= $3 ORDER BY machine_type_id, plan_version DESC)
  SELECT h.machine_type_id, h.valid_from, t.id, t.service_task_id, s.key, t.name, c.key AS component_key, t.minutes, t.skill, t.reach, t.safety_check, t.overrun_counts, t.triggers, t.parts, t.measurements, b.id IS NOT NULL AS changed_plan, bt.triggers AS triggers_before,
    (SELECT coalesce(jsonb_object_agg(key, days), '{}') FROM (
       SELECT pc.key, max(k.lead_time_days) AS days FROM part_fit f
       JOIN part p ON p.organisation_id = $1 AND p.id = f.part_id AND p.in_books JOIN component_type pc ON pc.organisation_id = $1 AND pc.id = p.component_type_id
       JOIN part_stock k ON k.organisation_id = $1 AND k.part_id = p.id AND k.warehouse_id = $2
       WHERE t.parts <> '[]' AND f.organisation_id = $1 AND f.machine_type_id = h.machine_type_id AND k.on_hand <= k.reserved GROUP BY pc.key) x) AS lead_days
  FROM holding h
  JOIN plan_task t ON t.organisation_id = $1 AND t.service_plan_id = h.id
  JOIN service_task s ON s.organisation_id = $1 AND s.id = t.service_task_id
  LEFT JOIN component_type c ON c.organisation_id = $1 AND c.id = t.component_type_id
  LEFT JOIN LATERAL (SELECT id FROM service_plan p WHERE p.organisation_id = $1 AND p.machine_type_id = h.machine_type_id AND p.plan_version < h.plan_version
    ORDER BY p.plan_version DESC LIMIT 1) b ON true
  LEFT JOIN plan_task bt ON bt.organisation_id = $1 AND bt.service_plan_id = b.id AND bt.service_task_id = t.service_task_id
  ORDER BY h.machine_type_id, t.position`

interface PlanRow extends Record<string, unknown> {
  machine_type_id: string
  valid_from: string
  id: string
  service_task_id: string
  key: string
  name: string
  component_key: string | null
  minutes: number
  skill: PlanTask['skill']
  reach: PlanTask['reach']
  safety_check: boolean
  overrun_counts: boolean
  triggers: unknown
  parts: unknown
  measurements: unknown
  changed_plan: boolean
  triggers_before: unknown
  lead_days: Record<string, number>
}

const triggersSchema = z.array(triggerSchema)
const partsSchema = z.array(planPartSchema)

/** The longest lead among the parts that are not on the shelf here; a part in stock needs no lead. */
function partsLeadDays(row: PlanRow): number {
  const parts = partsSchema.safeParse(row.parts)
  return parts.success ? Math.max(0, ...parts.data.map((part) => row.lead_days[part.componentKey] ?? 0)) : 0
}

const limitsSchema = z.array(z.object({ planLimit: z.unknown().optional(), neverBelow: z.unknown().optional() }))

/** A sheet measures wear where one of its values has a limit. */
function measuresWear(measurements: unknown): boolean {
  const parsed = limitsSchema.safeParse(measurements)
  return parsed.success && parsed.data.some(({ planLimit, neverBelow }) => planLimit !== undefined || neverBelow !== undefined)
}

type Intervals = Pick<NonNullable<PlanTask['intervalBefore']>, 'months' | 'use'>

function intervalsOf(triggers: readonly Trigger[]): Intervals {
  const calendar = triggers.find((trigger) => trigger.kind === 'calendar')
  const use = triggers.find((trigger) => trigger.kind === 'usage')
  return { months: calendar?.months ?? null, use: use ? { unit: use.unit, amount: use.amount } : null }
}

/** Rule 19: the intervals of the plan before, where they were others. */
function intervalBefore(row: PlanRow, triggers: readonly Trigger[]): Pick<PlanTask, 'intervalBefore'> {
  if (!row.changed_plan) return {}
  const before = triggersSchema.safeParse(row.triggers_before ?? [])
  const [was, is] = [intervalsOf(before.success ? before.data : []), intervalsOf(triggers)]
  const same = was.months === is.months && was.use?.unit === is.use?.unit && was.use?.amount === is.use?.amount
  return same ? {} : { intervalBefore: { ...was, changedOn: dayNumber(row.valid_from) } }
}

function planTaskOf(row: PlanRow, triggers: readonly Trigger[]): PlanTask {
  return {
    planTaskId: row.id,
    serviceTaskId: row.service_task_id,
    key: row.key,
    name: row.name,
    componentKey: row.component_key,
    minutes: row.minutes,
    skill: row.skill,
    reach: row.reach,
    safetyCheck: row.safety_check,
    overrunCounts: row.overrun_counts,
    triggers,
    measures: measuresWear(row.measurements),
    partsLeadDays: partsLeadDays(row),
    ...intervalBefore(row, triggers),
  }
}

function plansOf(rows: readonly PlanRow[]): Map<string, { validFrom: number; tasks: PlanTask[] }> {
  const plans = new Map<string, { validFrom: number; tasks: PlanTask[] }>()
  for (const row of rows) {
    const plan = plans.get(row.machine_type_id) ?? { validFrom: dayNumber(row.valid_from), tasks: [] }
    // A task whose triggers cannot be read has none: it is shown without a date instead of stopping the others.
    const triggers = triggersSchema.safeParse(row.triggers)
    plan.tasks.push(planTaskOf(row, triggers.success ? triggers.data : []))
    plans.set(row.machine_type_id, plan)
  }
  return plans
}

const TYPES = `
  SELECT id, drive, shortest_strip_mm, longest_strip_mm, mean_strip_mm, feed_speed_m_per_min, start_up_seconds_per_strip, most_strips_per_minute, counter_kind, counter_modulus,
    usual_strips_per_day, brush_new_mm, brush_plan_limit_mm, brush_never_below_mm, strips_from_new_to_plan_limit, blade_life_unit
  FROM machine_type WHERE organisation_id = $1`

/** Machines that stand here and were not new when they were registered: their first looks share the hours there are. */
const FIRST_ROUND = `
  SELECT m.machine_type_id AS "machineTypeId", m.registered_on AS "registeredOn", count(*)::int AS machines FROM placement p
  JOIN machine m ON m.organisation_id = $1 AND m.id = p.machine_id
  WHERE p.organisation_id = $1 AND p.warehouse_id = $2 AND p.to_at IS NULL AND (m.commissioned_on IS NULL OR m.commissioned_on < m.registered_on - 31)
  GROUP BY 1, 2 ORDER BY 1, 2`

async function readFirstRound(scope: PgScope, warehouseId: string, technicianHoursAWeek: number | null): Promise<FirstRound | null> {
  if (technicianHoursAWeek === null) return null
  const rows = await scope.rows<{ machineTypeId: string; registeredOn: string; machines: number }>(FIRST_ROUND, [
    scope.organisationId,
    warehouseId,
  ])
  return { technicianHoursAWeek, registered: rows.map((row) => ({ ...row, registeredOn: dayNumber(row.registeredOn) })) }
}

/** What all machines of a warehouse share, in five or six queries; null where there is no such warehouse. */
export async function readWarehouse(scope: PgScope, warehouseId: string, today: string): Promise<WarehouseFacts | null> {
  const [row] = await scope.rows<WarehouseRow>(WAREHOUSE, [scope.organisationId, warehouseId])
  if (!row) return null
  const people = await scope.rows<PersonRow>(PEOPLE, [scope.organisationId, warehouseId, today])
  const plans = plansOf(await scope.rows<PlanRow>(PLANS, [scope.organisationId, warehouseId, today]))
  const types = await scope.rows<TypeRow & Record<string, unknown>>(TYPES, [scope.organisationId])
  const firstRound = await readFirstRound(scope, warehouseId, row.technician_hours_a_week)
  return {
    warehouseId,
    firstRound,
    useElsewhere: await readUseElsewhere(scope, warehouseId, today),
    calendar: calendarOf(row),
    people: peopleOf(people, row),
    evidenceVersion: row.evidence_version,
    plannedVersion: row.planned_version,
    types: new Map(types.map((type) => [type.id, type])),
    plans,
    taskById: new Map([...plans.values()].flatMap((plan) => plan.tasks.map((task) => [task.planTaskId, task] as const))),
  }
}
