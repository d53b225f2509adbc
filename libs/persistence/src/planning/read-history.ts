import type { OccurrenceKind, OccurrenceState, ReminderStage, SituationKind, TriggerKind } from '@tapewarden/shared'
import type { UseAnchor } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'

export interface DoneRow extends Record<string, unknown> {
  machine_id: string
  service_task_id: string
  component_id: string | null
  done_on: string
  anchor_on: string
  anchor_steps: number
  strips_total: number | null
  use_anchor_on: string | null
  use_anchor_unit: UseAnchor['unit'] | null
  use_anchor_amount: number
}

/** The newest record of each task, on each component that it was done to. */
export function readLastDone(scope: PgScope, machineIds: readonly string[]): Promise<DoneRow[]> {
  return scope.rows<DoneRow>(
    `SELECT DISTINCT ON (machine_id, service_task_id, component_id) machine_id, service_task_id, component_id, done_on, anchor_on, anchor_steps, strips_total, use_anchor_on, use_anchor_unit, use_anchor_amount
     FROM service_record WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND settles
     ORDER BY machine_id, service_task_id, component_id, done_on DESC, created_at DESC, id DESC`,
    [scope.organisationId, machineIds],
  )
}

/** The newest record of each task on these components, whatever machine they were in. */
export function readLastDoneTo(scope: PgScope, componentIds: readonly string[]): Promise<DoneRow[]> {
  return scope.rows<DoneRow>(
    `SELECT DISTINCT ON (component_id, service_task_id) machine_id, service_task_id, component_id, done_on, anchor_on, anchor_steps, strips_total, use_anchor_on, use_anchor_unit, use_anchor_amount
     FROM service_record WHERE organisation_id = $1 AND component_id = ANY($2::uuid[]) AND settles
     ORDER BY component_id, service_task_id, done_on DESC, created_at DESC, id DESC`,
    [scope.organisationId, componentIds],
  )
}

export interface OpenRow extends Record<string, unknown> {
  id: string
  machine_id: string
  service_task_id: string
  component_id: string | null
  sequence: number
  kind: OccurrenceKind
  opened_on: string
  nominal_on: string
  window_from: string
  window_to: string
  hard_limit_on: string | null
  due_on: string
  late_from: string | null
  governing_trigger: TriggerKind
  said_on: string | null
  said_due_on: string | null
  said_stages: ReminderStage[]
  started_at: Date | null
  last_entry_at: Date | null
}

export function readOpen(scope: PgScope, machineIds: readonly string[]): Promise<OpenRow[]> {
  return scope.rows<OpenRow>(
    `SELECT o.id, o.machine_id, o.service_task_id, o.component_id, o.sequence, o.kind, o.opened_on, o.nominal_on, o.window_from, o.window_to, o.hard_limit_on, o.due_on, o.late_from,
       o.governing_trigger, o.said_on, o.said_due_on,
       ARRAY(SELECT DISTINCT r.stage FROM reminder r WHERE r.organisation_id = $1 AND r.occurrence_id = o.id ORDER BY 1) AS said_stages, w.started_at, w.last_entry_at
     FROM occurrence o LEFT JOIN LATERAL (
       SELECT min(w.started_at) AS started_at, max(coalesce(w.last_entry_at, w.started_at)) AS last_entry_at FROM work_order_task t
       JOIN work_order w ON w.organisation_id = $1 AND w.id = t.work_order_id AND w.state = 'under_way'
       WHERE t.organisation_id = $1 AND t.occurrence_id = o.id) w ON true
     WHERE o.organisation_id = $1 AND o.machine_id = ANY($2::uuid[]) AND o.state = 'open'`,
    [scope.organisationId, machineIds],
  )
}

/** The newest skipped occurrence of each task, [machine, task, endedOn, nominalOn]: what was skipped stays skipped until it is done (rule 13). */
export function readSkipped(scope: PgScope, machineIds: readonly string[]): Promise<[string, string, string, string][]> {
  return scope.arrays(
    `SELECT DISTINCT ON (machine_id, service_task_id) machine_id, service_task_id, ended_on, nominal_on FROM occurrence
     WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND state = 'skipped' ORDER BY machine_id, service_task_id, sequence DESC`,
    [scope.organisationId, machineIds],
  )
}

/** The newest occurrence of each task: [machine, task, number, state, kind, endedOn, nominalOn]. */
export function readSequences(
  scope: PgScope,
  machineIds: readonly string[],
): Promise<[string, string, number, OccurrenceState, OccurrenceKind, string | null, string][]> {
  return scope.arrays(
    `SELECT DISTINCT ON (machine_id, service_task_id) machine_id, service_task_id, sequence, state, kind, ended_on, nominal_on FROM occurrence
     WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) ORDER BY machine_id, service_task_id, sequence DESC`,
    [scope.organisationId, machineIds],
  )
}

export interface ComponentRow extends Record<string, unknown> {
  component_id: string
  machine_id: string
  component_key: string
  new_on: string | null
  from_date: string | null
  used_strips_before: number
  placed_before: boolean
}

export function readComponents(scope: PgScope, machineIds: readonly string[]): Promise<ComponentRow[]> {
  return scope.rows<ComponentRow>(
    `SELECT p.component_id, p.machine_id, t.key AS component_key, c.new_on, p.from_date, p.used_strips_before,
       EXISTS (SELECT 1 FROM component_placement b WHERE b.organisation_id = $1 AND b.component_id = p.component_id AND b.to_date IS NOT NULL) AS placed_before
     FROM component_placement p
     JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id
     JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id
     WHERE p.organisation_id = $1 AND p.machine_id = ANY($2::uuid[]) AND p.to_date IS NULL ORDER BY p.machine_id, t.key, p.id`,
    [scope.organisationId, machineIds],
  )
}

/** The shorter edge measured on each day, [component, day, mm, machine], oldest first; as found, for a fresh set's own length too. */
export function readLengths(scope: PgScope, componentIds: readonly string[]): Promise<[string, string, number, string][]> {
  return scope.arrays(
    `SELECT component_id, measured_on, min(value_mm), min(machine_id::text) FROM measurement
     WHERE organisation_id = $1 AND component_id = ANY($2::uuid[]) AND state = 'counted' GROUP BY component_id, measured_on ORDER BY component_id, measured_on`,
    [scope.organisationId, componentIds],
  )
}

/** [machine, part's kind, component, new on, from, used before, measured on, mm], oldest first. */
export type EarlierLengthRow = [string, string, string, string | null, string | null, number, string, number]

/** What was measured of parts that are out again, while they were in these machines. */
export function readEarlierLengths(scope: PgScope, machineIds: readonly string[]): Promise<EarlierLengthRow[]> {
  return scope.arrays(
    `SELECT p.machine_id, t.key, p.component_id, c.new_on, p.from_date, p.used_strips_before, m.measured_on, min(m.value_mm)
     FROM component_placement p
     JOIN component c ON c.organisation_id = $1 AND c.id = p.component_id
     JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id
     JOIN measurement m ON m.organisation_id = $1 AND m.component_id = p.component_id AND m.machine_id = p.machine_id AND m.state = 'counted'
       AND m.measured_on >= coalesce(p.from_date, m.measured_on) AND m.measured_on <= p.to_date
     WHERE p.organisation_id = $1 AND p.machine_id = ANY($2::uuid[]) AND p.to_date IS NOT NULL
     GROUP BY p.organisation_id, p.id, c.organisation_id, c.id, t.key, m.measured_on ORDER BY p.machine_id, p.id, m.measured_on`,
    [scope.organisationId, machineIds],
  )
}

export interface FindingRow extends Record<string, unknown> {
  id: string
  machine_id: string
  service_task_id: string | null
  found_on: string
  due_on: string | null
  within_days: number | null
  safety: boolean
  text: string
}

export function readFindings(scope: PgScope, machineIds: readonly string[]): Promise<FindingRow[]> {
  return scope.rows<FindingRow>(
    `SELECT id, machine_id, service_task_id, found_on, due_on, within_days, safety, text FROM finding
     WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND settled_on IS NULL ORDER BY found_on, id`,
    [scope.organisationId, machineIds],
  )
}

export function readSituations(scope: PgScope, machineIds: readonly string[], since: string): Promise<[string, SituationKind, string][]> {
  return scope.arrays(
    `SELECT machine_id, kind, happened_on FROM situation WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND happened_on >= $3 ORDER BY happened_on, id`,
    [scope.organisationId, machineIds, since],
  )
}
