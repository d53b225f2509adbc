import { newId } from '@tapewarden/platform'
import type { PgScope } from '../pg-scope.js'
import { dayText, dayTextOrNull } from './days.js'
import { peopleFor, type WarehousePeople } from './people.js'
import type { OccurrencesWritten, PassPlace } from './write-occurrences.js'

interface NewReminder {
  id: string
  occurrence_id: string
  stage: string
  person_id: string
  class: string
  say_on: string
  do_by: string | null
}

function remindersOf(say: OccurrencesWritten['say'], here: WarehousePeople): NewReminder[] {
  const found = new Map<string, NewReminder>()
  const office = new Map<string, string[]>()
  for (const { occurrenceId, say: one } of say) {
    const key = `${one.told} ${one.sayOn}`
    const people = office.get(key) ?? peopleFor(one.told, one.sayOn, here)
    office.set(key, people)
    for (const personId of people) {
      const once = `${occurrenceId} ${one.stage} ${personId}`
      if (!found.has(once))
        found.set(once, {
          id: newId(),
          occurrence_id: occurrenceId,
          stage: one.stage,
          person_id: personId,
          class: one.class,
          say_on: dayText(one.sayOn),
          do_by: dayTextOrNull(one.doBy ?? null),
        })
    }
  }
  return [...found.values()]
}

/** Reminders of ended occurrences that nobody has been told yet are not told any more. */
async function dropUnsaid(scope: PgScope, superseded: readonly string[]): Promise<void> {
  if (superseded.length === 0) return
  await scope.run(
    `UPDATE reminder SET dropped_reason = 'superseded' WHERE organisation_id = $1 AND occurrence_id = ANY($2::uuid[]) AND message_id IS NULL AND dropped_reason IS NULL`,
    [scope.organisationId, superseded],
  )
}

/** One reminder an occurrence, stage and person, whatever runs twice. @returns how many are new */
export async function writeReminders(
  scope: PgScope,
  place: PassPlace,
  written: OccurrencesWritten,
  here: WarehousePeople,
): Promise<number> {
  await dropUnsaid(scope, written.superseded)
  const reminders = remindersOf(written.say, here)
  if (reminders.length === 0) return 0
  const rows = await scope.rows<{ occurrence_id: string; stage: string }>(
    `INSERT INTO reminder (organisation_id, id, occurrence_id, stage, person_id, warehouse_id, class, say_on, do_by, created_at)
     SELECT $1, id, occurrence_id, stage, person_id, $3, class, say_on, do_by, $4
     FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, occurrence_id uuid, stage text, person_id uuid, class text, say_on date, do_by date)
     ON CONFLICT (organisation_id, occurrence_id, stage, person_id) DO NOTHING RETURNING occurrence_id, stage`,
    [scope.organisationId, JSON.stringify(reminders), place.warehouseId, place.now],
  )
  const opened = new Set(written.opened.map((one) => one.occurrenceId))
  await markSaid(
    scope,
    place,
    rows.filter((row) => !opened.has(row.occurrence_id)),
  )
  return rows.length
}

/** Rule 12 measures later moves of the date against what was said, so the occurrence keeps the day and the date said. */
async function markSaid(scope: PgScope, place: PassPlace, rows: readonly { occurrence_id: string; stage: string }[]): Promise<void> {
  if (rows.length === 0) return
  const again = rows.filter((row) => row.stage === 'earlier_than_said').map((row) => row.occurrence_id)
  await scope.run(
    `UPDATE occurrence SET said_on = $3, said_due_on = due_on
     WHERE organisation_id = $1 AND id = ANY($2::uuid[]) AND (said_on IS NULL OR id = ANY($4::uuid[]))`,
    [scope.organisationId, [...new Set(rows.map((row) => row.occurrence_id))], dayText(place.today), again],
  )
}
