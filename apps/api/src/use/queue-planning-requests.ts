import type { Logger, Settings } from '@tapewarden/platform'
import { JobQueue, QueuedPlanningRequests } from '@tapewarden/queues'
import type { PlanningRequests } from './planning-requests.js'

/** The queue's own trouble is written down and goes no further. */
export async function openPlanningRequests(settings: Settings, logger: Logger): Promise<PlanningRequests> {
  const onError = (error: Error) => logger.warn({ err: error }, 'the queue does not answer; the sweep will ask for the pass')
  const queue = JobQueue.open(settings.QUEUE_URL, onError)
  const requests = new QueuedPlanningRequests(queue, onError)
  return { request: (organisationId, warehouseId) => requests.request(organisationId, warehouseId), close: () => queue.close() }
}
