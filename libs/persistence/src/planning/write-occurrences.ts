import { newId } from '@tapewarden/platform'
import type { MachinePlan, OccurrenceChange, SayThis } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { dayText, dayTextOrNull } from './days.js'

type Opening = Extract<OccurrenceChange, { do: 'open' }>
type Redating = Extract<OccurrenceChange, { do: 'redate' }>
type Superseding = Extract<OccurrenceChange, { do: 'supersede' }>

export interface OpenedOccurrence {
  occurrenceId: string
  machineId: string
  change: Opening
}

export interface OccurrencesWritten {
  opened: OpenedOccurrence[]
  superseded: string[]
  redated: number
  /** What is to be said of which occurrence, new ones included. */
  say: { occurrenceId: string; say: SayThis }[]
}

export interface PassPlace {
  warehouseId: string
  today: number
  now: Date
}

const DATES =
  'nominal_on date, window_from date, window_to date, hard_limit_on date, due_on date, late_from date, needs_person boolean, governing_trigger text, basis jsonb'
const DATE_COLUMNS = [
  'nominal_on',
  'window_from',
  'window_to',
  'hard_limit_on',
  'due_on',
  'late_from',
  'needs_person',
  'governing_trigger',
  'basis',
]

function datesOf(change: Opening | Redating): object {
  return {
    nominal_on: dayText(change.nominalOn),
    window_from: dayText(change.windowFrom),
    window_to: dayText(change.windowTo),
    hard_limit_on: dayTextOrNull(change.hardLimitOn),
    due_on: dayText(change.dueOn),
    late_from: dayTextOrNull(change.lateFrom),
    needs_person: change.needsPerson,
    governing_trigger: change.governing,
    basis: change.basis,
  }
}

/** Ends open occurrences; those that a person ended meanwhile stay as they are. @returns the ids ended here */
async function supersede(scope: PgScope, place: PassPlace, changes: readonly Superseding[]): Promise<string[]> {
  if (changes.length === 0) return []
  const rows = await scope.rows<{ id: string }>(
    `UPDATE occurrence o SET state = 'superseded', ended_on = $3, end_reason = c.reason, counted_as_missed = c.missed, version = o.version + 1
     FROM jsonb_to_recordset($2::jsonb) AS c("occurrenceId" uuid, reason text, missed boolean)
     WHERE o.organisation_id = $1 AND o.id = c."occurrenceId" AND o.state = 'open' RETURNING o.id`,
    [
      scope.organisationId,
      JSON.stringify(changes.map(({ occurrenceId, reason, missed }) => ({ occurrenceId, reason, missed }))),
      dayText(place.today),
    ],
  )
  return rows.map((row) => row.id)
}

/** Opens, and keeps what is said at once (rule 12); where the number is taken or another is open already, nothing happens: uniqueness lives in the database. */
async function open(scope: PgScope, place: PassPlace, candidates: readonly OpenedOccurrence[]): Promise<OpenedOccurrence[]> {
  if (candidates.length === 0) return []
  const list = candidates.map(({ occurrenceId, machineId, change }) => ({
    id: occurrenceId,
    machine_id: machineId,
    service_task_id: change.serviceTaskId,
    plan_task_id: change.planTaskId,
    component_id: change.componentId,
    sequence: change.sequence,
    kind: change.kind,
    said_on: change.say.length > 0 ? dayText(place.today) : null,
    said_due_on: change.say.length > 0 ? dayText(change.dueOn) : null,
    ...datesOf(change),
  }))
  const own = 'id, machine_id, service_task_id, plan_task_id, component_id, sequence, kind, said_on, said_due_on'
  const rows = await scope.rows<{ id: string }>(
    `INSERT INTO occurrence (organisation_id, ${own}, ${DATE_COLUMNS.join(', ')}, warehouse_id, state, opened_on, created_at)
     SELECT $1, ${own}, ${DATE_COLUMNS.join(', ')}, $3, 'open', $4, $5
     FROM jsonb_to_recordset($2::jsonb) AS c(id uuid, machine_id uuid, service_task_id uuid, plan_task_id uuid, component_id uuid, sequence integer, kind text, said_on date, said_due_on date, ${DATES})
     ON CONFLICT DO NOTHING RETURNING id`,
    [scope.organisationId, JSON.stringify(list), place.warehouseId, dayText(place.today), place.now],
  )
  const written = new Set(rows.map((row) => row.id))
  return candidates.filter((candidate) => written.has(candidate.occurrenceId))
}

async function redate(scope: PgScope, changes: readonly Redating[]): Promise<number> {
  if (changes.length === 0) return 0
  const list = changes.map((change) => ({ id: change.occurrenceId, ...datesOf(change) }))
  return scope.run(
    `UPDATE occurrence o SET ${DATE_COLUMNS.map((column) => `${column} = c.${column}`).join(', ')}, version = o.version + 1
     FROM jsonb_to_recordset($2::jsonb) AS c(id uuid, ${DATES})
     WHERE o.organisation_id = $1 AND o.id = c.id AND o.state = 'open'
       AND (${DATE_COLUMNS.map((column) => `o.${column}`).join(', ')}) IS DISTINCT FROM (${DATE_COLUMNS.map((column) => `c.${column}`).join(', ')})`,
    [scope.organisationId, JSON.stringify(list)],
  )
}

/** Carries out what the plans decided about occurrences: endings first, so that the next number may open. */
export async function writeOccurrences(scope: PgScope, place: PassPlace, plans: readonly MachinePlan[]): Promise<OccurrencesWritten> {
  const candidates: OpenedOccurrence[] = []
  const redatings: Redating[] = []
  const endings: Superseding[] = []
  const say: OccurrencesWritten['say'] = []
  const sayOf = (occurrenceId: string, list: readonly SayThis[]) => list.forEach((one) => say.push({ occurrenceId, say: one }))
  for (const { machineId, changes } of plans)
    for (const change of changes)
      switch (change.do) {
        case 'open':
          candidates.push({ occurrenceId: newId(), machineId, change })
          break
        case 'supersede':
          endings.push(change)
          break
        case 'redate':
          redatings.push(change)
          sayOf(change.occurrenceId, change.say)
          break
        case 'say':
          sayOf(change.occurrenceId, change.say)
          break
      }
  const superseded = await supersede(scope, place, endings)
  const opened = await open(scope, place, candidates)
  for (const { occurrenceId, change } of opened) sayOf(occurrenceId, change.say)
  const redated = await redate(scope, redatings)
  return { opened, superseded, redated, say }
}
