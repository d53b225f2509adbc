import { localMoment, type WarehouseHours } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { WorkerParts } from '../parts.js'
import { runOnce } from '../run-once.js'

export interface SettledRestore {
  messages: number
  reminders: number
}

const WHY = 'Restored from a backup: it may have been sent after it.'

interface UnsaidRow extends Record<string, unknown> {
  personId: string
  ids: string[]
}

/** What was waiting when the backup ends may have gone out since: nobody can know, so it is never sent again as new. */
async function settleMessages(scope: PgScope): Promise<number> {
  const values = [scope.organisationId, WHY]
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

/** Reminders whose day has come but which stand in no message here: they may stand in one that the backup does not know. */
async function settleReminders(scope: PgScope, warehouse: WarehouseHours & { id: string }, now: Date): Promise<number> {
  const { today } = localMoment(warehouse, now)
  const unsaid = await scope.rows<UnsaidRow>(
    `SELECT person_id AS "personId", array_agg(id::text) AS ids FROM reminder
     WHERE organisation_id = $1 AND warehouse_id = $2 AND message_id IS NULL AND dropped_reason IS NULL AND say_on <= $3 GROUP BY person_id`,
    [scope.organisationId, warehouse.id, today],
  )
  for (const { personId, ids } of unsaid) {
    const messageId = newId()
    await scope.run(
      `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, last_error, created_at)
       VALUES ($1, $2, $3, $4, $5, 'digest', $6, 'uncertain', $7, $7, $8, $7)`,
      [scope.organisationId, messageId, personId, warehouse.id, today, `restored ${messageId}`, now, WHY],
    )
    await scope.run('UPDATE reminder SET message_id = $2 WHERE organisation_id = $1 AND id = ANY($3::uuid[])', [
      scope.organisationId,
      messageId,
      ids,
    ])
  }
  return unsaid.reduce((sum, { ids }) => sum + ids.length, 0)
}

/**
 * After a restore and before anything runs: plans once, so that every reminder that has come due by now is there, then calls
 * all of them, and every mail that was waiting, uncertain. The next digest tells them once as 'you may have had this already'.
 */
export async function settleRestored(parts: WorkerParts): Promise<SettledRestore> {
  const settled = { messages: 0, reminders: 0 }
  await runOnce(parts, { step: 'plan' })
  const now = await parts.clock.now()
  for (const organisationId of await parts.database.organisations())
    await parts.database.withOrganisationSql(organisationId, async (scope) => {
      settled.messages += await settleMessages(scope)
      const warehouses = await scope.rows<{ id: string; zone: string }>('SELECT id, zone FROM warehouse WHERE organisation_id = $1', [
        organisationId,
      ])
      for (const { id, zone } of warehouses) settled.reminders += await settleReminders(scope, { id, zone, shifts: [], closures: [] }, now)
    })
  return settled
}
