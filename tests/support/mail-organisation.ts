/** An organisation with open occurrences and reminders that nobody has been told yet, at 10:00 on a working day. */
import { newId } from '@tapewarden/platform'
import { type SqlDatabase, insertAllRows, type NewRow } from '@tapewarden/persistence'
import { smallOrganisation } from './organisation.js'

export const MAIL_TODAY = '2026-03-03'
export const MAIL_NOW = new Date('2026-03-03T10:00:00Z')

export interface MailOrganisation {
  organisationId: string
  warehouseId: string
  managerId: string
  technicianId: string
  readers: { id: string; email: string }[]
  occurrenceIds: string[]
  reminderIds: string[]
}

interface Asked {
  /** Open occurrences, one a machine. */
  machines: number
  /** People who are told of all of them; the first two are the warehouse's named ones. */
  readers?: number
  stage?: string
  class?: 'digest' | 'urgent'
}

function manyRows(ids: ReturnType<typeof smallOrganisation>['ids'], word: string, asked: Required<Asked>) {
  const readers = Array.from({ length: Math.max(0, asked.readers - 2) }, (_, index) => ({
    id: newId(),
    email: `reader${index}.${word}@example.org`,
  }))
  const all = [
    { id: ids.manager, email: `mara.${word}@example.org` },
    { id: ids.technician, email: `tom.${word}@example.org` },
    ...readers,
  ].slice(0, asked.readers)
  const people: NewRow[] = readers.map(({ id, email }, index) => ({
    id,
    name: `Reader ${index}`,
    email,
    role: 'technician',
    created_at: MAIL_NOW,
  }))
  const machines = Array.from({ length: asked.machines }, (_, index) => ({
    id: newId(),
    label: `M-${word}-${String(index + 1).padStart(4, '0')}`,
  }))
  const machineRows: NewRow[] = machines.map(({ id, label }) => ({
    id,
    machine_type_id: ids.machineType,
    serial_number: label,
    label_code: label,
    registered_on: '2025-06-01',
    status_since: '2025-06-01',
    created_at: MAIL_NOW,
  }))
  const placements: NewRow[] = machines.map(({ id }) => ({
    id: newId(),
    machine_id: id,
    warehouse_id: ids.warehouse,
    station_id: ids.station,
    from_at: '2025-06-01T06:00:00Z',
  }))
  const occurrences = machines.map(({ id }) => ({
    id: newId(),
    machine_id: id,
    warehouse_id: ids.warehouse,
    service_task_id: ids.task,
    plan_task_id: ids.planTask,
    sequence: 1,
    kind: 'regular',
    state: 'open',
    opened_on: '2026-03-01',
    nominal_on: '2026-03-09',
    window_from: '2026-03-01',
    window_to: '2026-03-20',
    hard_limit_on: '2026-04-20',
    due_on: '2026-03-09',
    governing_trigger: 'calendar',
    created_at: MAIL_NOW,
  }))
  const reminders = occurrences.flatMap((occurrence) =>
    all.map(({ id }) => ({
      id: newId(),
      occurrence_id: occurrence.id,
      stage: asked.stage,
      person_id: id,
      warehouse_id: ids.warehouse,
      class: asked.class,
      say_on: MAIL_TODAY,
      created_at: MAIL_NOW,
    })),
  )
  return { readers: all, people, machineRows, placements, occurrences, reminders }
}

export async function insertMailOrganisation(database: SqlDatabase, word: string, given: Asked): Promise<MailOrganisation> {
  const asked = { readers: 2, stage: 'due', class: 'digest' as const, ...given }
  const small = smallOrganisation(word)
  const { ids } = small
  const many = manyRows(ids, word, asked)
  const { message: _message, reminder: _reminder, absence: _absence, planning_chunk: _chunk, ...kept } = small.rows
  const [warehouse] = kept.warehouse ?? []
  const rows = {
    ...kept,
    person: [...(kept.person ?? []), ...many.people],
    warehouse: [
      { ...warehouse, zone: 'UTC', planned_on: MAIL_TODAY, dates_scored_on: MAIL_TODAY, planned_version: 1, evidence_version: 1 },
    ],
    machine: [...(kept.machine ?? []), ...many.machineRows],
    placement: [...(kept.placement ?? []), ...many.placements],
    // The small organisation's own occurrence has no reminder; it stays out of every mail.
    occurrence: [...(kept.occurrence ?? []), ...many.occurrences],
    reminder: many.reminders,
  }
  await database.withOrganisationSql(small.organisationId, (scope) => insertAllRows(scope, rows))
  return {
    organisationId: small.organisationId,
    warehouseId: ids.warehouse,
    managerId: ids.manager,
    technicianId: ids.technician,
    readers: many.readers,
    occurrenceIds: many.occurrences.map(({ id }) => id),
    reminderIds: many.reminders.map(({ id }) => id),
  }
}
