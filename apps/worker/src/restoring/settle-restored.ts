import { localMoment, type WarehouseHours } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import { newId } from '@tapewarden/platform'
import { readUntoldParts } from '../composing/parts.js'
import type { WorkerParts } from '../parts.js'
import { runOnce } from '../run-once.js'

export interface SettledRestore {
  messages: number
  reminders: number
}

const RESTORED = 'The database was restored from a backup: this may have been sent after the backup ends.'
const TAKEN_OVER = 'The organisation was taken over from a file: this may have been sent where it came from.'

interface UnsaidRow extends Record<string, unknown> {
  personId: string
  ids: string[]
}

/** What was waiting when the backup ends may have gone out since: nobody can know, so it is never sent again as new. */
async function settleMessages(scope: PgScope, why: string): Promise<number> {
  const values = [scope.organisationId, why]
  const uncertain = await scope.run(
    `UPDATE message SET state = 'uncertain', lease_until = NULL, last_error = $2
     WHERE organisation_id = $1 AND state IN ('pending', 'claimed', 'handing_over') AND class <> 'account'`,
    values,
  )
  const ended = await scope.run(
    `UPDATE message SET state = 'expired', lease_until = NULL, last_error = $2
     WHERE organisation_id = $1 AND state IN ('pending', 'claimed', 'handing_over') AND class = 'account'`,
    values,
  )
  return uncertain + ended
}

interface Place extends WarehouseHours {
  id: string
  firstPersonId: string | null
  partsLookedOn: string | null
}

interface When {
  now: Date
  why: string
}

/** A message that may have been sent, for what stands in none here. @returns its id */
async function maybeSent(scope: PgScope, personId: string, warehouseId: string, today: string, { now, why }: When): Promise<string> {
  const messageId = newId()
  await scope.run(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, last_error, created_at)
     VALUES ($1, $2, $3, $4, $5, 'digest', $6, 'uncertain', $7, $7, $8, $7)`,
    [scope.organisationId, messageId, personId, warehouseId, today, `restored ${messageId}`, now, why],
  )
  return messageId
}

/** Reminders whose day has come, and issued work orders, but which stand in no message here: they may stand in one that the backup does not know. */
async function settleReminders(scope: PgScope, warehouse: Place, when: When): Promise<number> {
  const { today } = localMoment(warehouse, when.now)
  const unsaid = await scope.rows<UnsaidRow>(
    `SELECT person_id AS "personId", array_agg(id::text) AS ids FROM reminder
     WHERE organisation_id = $1 AND warehouse_id = $2 AND message_id IS NULL AND dropped_reason IS NULL AND say_on <= $3 GROUP BY person_id`,
    [scope.organisationId, warehouse.id, today],
  )
  const untold = await scope.rows<UnsaidRow>(
    `SELECT technician_id AS "personId", array_agg(id::text) AS ids FROM work_order
     WHERE organisation_id = $1 AND warehouse_id = $2 AND state = 'issued' AND technician_id IS NOT NULL AND told_message_id IS NULL GROUP BY technician_id`,
    [scope.organisationId, warehouse.id],
  )
  const put = async (table: 'reminder' | 'work_order', column: string, rows: readonly UnsaidRow[]) => {
    for (const { personId, ids } of rows)
      await scope.run(`UPDATE ${table} SET ${column} = $2 WHERE organisation_id = $1 AND id = ANY($3::uuid[])`, [
        scope.organisationId,
        await maybeSent(scope, personId, warehouse.id, today, when),
        ids,
      ])
  }
  await put('reminder', 'message_id', unsaid)
  await put('work_order', 'told_message_id', untold)
  return [...unsaid, ...untold].reduce((sum, { ids }) => sum + ids.length, 0)
}

/** Parts that must be ordered by now and of which the backup does not know that anybody was told. */
async function settleParts(scope: PgScope, warehouse: Place, when: When): Promise<number> {
  if (warehouse.firstPersonId === null) return 0
  const { today } = localMoment(warehouse, when.now)
  const partIds = await readUntoldParts(scope, warehouse, today)
  if (partIds.length === 0) return 0
  const messageId = await maybeSent(scope, warehouse.firstPersonId, warehouse.id, today, when)
  return scope.run('UPDATE part_told SET message_id = $3 WHERE organisation_id = $1 AND warehouse_id = $2 AND message_id IS NULL', [
    scope.organisationId,
    warehouse.id,
    messageId,
  ])
}

/**
 * After a restore and before anything runs: plans once, so that every reminder that has come due by now is there, then calls
 * all of them, and every mail that was waiting, uncertain. The next digest tells them once as 'you may have had this already'.
 * @param only  one organisation, which was taken over from a file; left out: all of them
 */
export async function settleRestored(parts: WorkerParts, only?: string): Promise<SettledRestore> {
  const settled = { messages: 0, reminders: 0 }
  await runOnce(parts, { step: 'plan' })
  const when = { now: await parts.clock.now(), why: only === undefined ? RESTORED : TAKEN_OVER }
  for (const organisationId of only === undefined ? await parts.database.organisations() : [only])
    await parts.database.withOrganisationSql(organisationId, async (scope) => {
      settled.messages += await settleMessages(scope, when.why)
      const warehouses = await scope.rows<Place & Record<string, unknown>>(
        `SELECT id, zone, '[]'::jsonb AS shifts, '[]'::jsonb AS closures, first_person_id AS "firstPersonId", parts_looked_on::text AS "partsLookedOn"
         FROM warehouse WHERE organisation_id = $1`,
        [organisationId],
      )
      for (const warehouse of warehouses)
        settled.reminders += (await settleReminders(scope, warehouse, when)) + (await settleParts(scope, warehouse, when))
    })
  return settled
}
