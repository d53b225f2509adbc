import type { PgScope } from '@tapewarden/persistence/sql'

/** What messages held that will not go out is free to be told by another: reminders, orders, parts, and doubts they were to tell. */
export async function releaseHeld(scope: PgScope, messageIds: readonly string[]): Promise<void> {
  const values = [scope.organisationId, messageIds]
  for (const [table, column] of [
    ['reminder', 'message_id'],
    ['message', 'folded_into_id'],
    ['work_order', 'told_message_id'],
    ['part_told', 'message_id'],
  ] as const)
    await scope.run(`UPDATE ${table} SET ${column} = NULL WHERE organisation_id = $1 AND ${column} = ANY($2::uuid[])`, values)
}
