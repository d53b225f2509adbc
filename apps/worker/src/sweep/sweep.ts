import type { WorkerParts } from '../parts.js'
import { findWebhooks } from '../webhooks/find-webhooks.js'
import { findWork } from './find-work.js'
import { type Settled, settleMessages } from './settle.js'

export interface Swept extends Settled {
  organisations: number
  jobs: number
}

/** A job that the queue lost is put again after this long. */
const SLOT_SECONDS = 120

/** Two workers do not sweep one organisation at once; who comes second leaves it to the first. */
const TRY_LOCK = `SELECT pg_try_advisory_xact_lock(hashtextextended('sweep ' || $1, 0)) AS ours`

/**
 * Asks PostgreSQL what should have moved and did not: the recovery of everything that a queue, a worker or a schedule lost.
 * @param slot part of the jobs' keys; a rebuild passes one of its own
 */
export async function sweep(parts: WorkerParts, slot?: string): Promise<Swept> {
  const now = await parts.clock.now()
  const ownSlot = slot ?? `s${Math.floor(Date.now() / 1000 / SLOT_SECONDS)}`
  const swept: Swept = { organisations: 0, jobs: 0, uncertain: 0, released: 0, expired: 0 }
  for (const organisationId of await parts.database.organisations()) {
    const found = await parts.database.withOrganisationSql(organisationId, async (scope) => {
      const [lock] = await scope.rows<{ ours: boolean }>(TRY_LOCK, [organisationId])
      if (!lock?.ours) return null
      const settled = await settleMessages(scope, now)
      return { settled, jobs: [...(await findWork(scope, now, ownSlot)), ...(await findWebhooks(scope, now, ownSlot))] }
    })
    parts.crash('after_sweep_commit')
    if (!found) continue
    await parts.queue.enqueueAll(found.jobs)
    swept.organisations += 1
    swept.jobs += found.jobs.length
    swept.uncertain += found.settled.uncertain
    swept.released += found.settled.released
    swept.expired += found.settled.expired
  }
  return swept
}
