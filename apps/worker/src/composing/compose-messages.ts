import { localMoment } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import { newId } from '@tapewarden/platform'
import type { JobHandler } from '@tapewarden/queues'
import type { WorkerParts } from '../parts.js'
import { groupReminders } from './group.js'
import { readUntoldParts } from './parts.js'
import {
  dropStale,
  dropUnwanted,
  fillMessage,
  lockComposing,
  placeMessage,
  readDigests,
  readHandedOver,
  readOffice,
  readUncertain,
  readUnsaid,
  readUntoldOrders,
  readWarehouse,
  WAIT_FOR_PLAN_MINUTES,
} from './rows.js'

export interface Composed {
  why: string
  /** Messages made or filled now. */
  messageIds: string[]
  reminders: number
}

const NOTHING = { messageIds: [], reminders: 0 }

async function composeWarehouse(scope: PgScope, warehouseId: string, now: Date): Promise<Composed> {
  await lockComposing(scope, warehouseId)
  const warehouse = await readWarehouse(scope, warehouseId)
  if (!warehouse) return { why: 'gone', ...NOTHING }
  const { today, minutesOpen } = localMoment(warehouse, now)
  if (minutesOpen === null) return { why: 'outside working hours', ...NOTHING }
  if ((warehouse.plannedOn ?? '') < today && minutesOpen < WAIT_FOR_PLAN_MINUTES) return { why: 'waits for today’s dates', ...NOTHING }
  await dropStale(scope, warehouseId)
  const unsaid = await readUnsaid(scope, warehouseId, today)
  const uncertain = await readUncertain(scope, warehouseId, today)
  const office = await readOffice(scope, warehouse, today)
  const { messages, nobody, waiting, unwantedIds } = groupReminders(
    unsaid,
    uncertain,
    office,
    {
      hours: warehouse,
      now,
      today,
      openSince: new Date(now.getTime() - minutesOpen * 60_000),
      digests: await readDigests(scope, warehouseId, today),
      handedOver: await readHandedOver(scope, warehouseId),
    },
    await readUntoldOrders(scope, warehouseId),
    await readUntoldParts(scope, { id: warehouseId, partsLookedOn: warehouse.partsLookedOn }, today),
  )
  await dropUnwanted(scope, unwantedIds)
  if (messages.length + nobody === 0)
    return { why: waiting > 0 ? `${waiting} reminders wait for their people’s own day or hour` : 'nothing to say', ...NOTHING }
  const messageIds: string[] = []
  let reminders = 0
  for (const message of messages) {
    const placed = await placeMessage(scope, message, { id: newId(), warehouseId, today, now })
    if (!placed) continue
    reminders += await fillMessage(scope, placed.id, message)
    messageIds.push(placed.id)
  }
  return { why: nobody > 0 ? `composed; ${nobody} reminders have nobody who can have mail` : 'composed', messageIds, reminders }
}

/** Decides and writes in one transaction what is said to whom; then puts the messages into the queue. */
export async function compose(parts: WorkerParts, organisationId: string, warehouseId: string): Promise<Composed> {
  const now = await parts.clock.now()
  const composed = await parts.database.withOrganisationSql(organisationId, async (scope) => {
    const answer = await composeWarehouse(scope, warehouseId, now)
    if (answer.messageIds.length > 0) parts.crash('before_compose_commit')
    return answer
  })
  if (composed.messageIds.length === 0) return composed
  parts.crash('after_compose_commit')
  await parts.queue.enqueueAll(
    composed.messageIds.map((messageId) => ({
      name: 'send_message',
      input: { organisationId, messageId },
      options: { key: `${messageId}-composed` },
    })),
  )
  parts.crash('after_compose_enqueued')
  return composed
}

export function composeMessages(parts: WorkerParts): JobHandler<'compose_messages'> {
  return {
    name: 'compose_messages',
    async handle({ organisationId, warehouseId }) {
      const { why, messageIds, reminders } = await compose(parts, organisationId, warehouseId)
      return messageIds.length === 0 ? why : `${why}: ${reminders} reminders in ${messageIds.length} messages`
    },
  }
}
