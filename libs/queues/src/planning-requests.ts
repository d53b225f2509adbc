import type { JobQueue } from './job-queue.js'

/** What the api asks of the worker: this warehouse's dates may have changed. Never fails its caller. */
export interface PlanningRequests {
  request(organisationId: string, warehouseId: string): Promise<void>
}

/** Changes come in bursts; the pass waits this long for the next one. */
export const PLANNING_DELAY_MS = 1000

/**
 * Asks for a pass, at most one waiting and one running a warehouse. The change itself went up in the
 * warehouse's evidence_version, so a request that is lost here is found by the sweep within half a minute.
 */
export function enqueuePlanning(queue: JobQueue, organisationId: string, warehouseId: string): Promise<void> {
  return queue.enqueue(
    'plan_warehouse',
    { organisationId, warehouseId },
    { debounceKey: `${organisationId}-${warehouseId}`, delayMs: PLANNING_DELAY_MS },
  )
}

export class QueuedPlanningRequests implements PlanningRequests {
  constructor(
    private readonly queue: JobQueue,
    private readonly onError: (error: Error) => void,
    private readonly patienceMs = 500,
  ) {}

  async request(organisationId: string, warehouseId: string): Promise<void> {
    let timer: NodeJS.Timeout | undefined
    const late = new Promise<never>((_, fail) => {
      timer = setTimeout(() => fail(new Error('The queue did not answer; the sweep will bring this pass.')), this.patienceMs)
    })
    try {
      await Promise.race([enqueuePlanning(this.queue, organisationId, warehouseId), late])
    } catch (error) {
      this.onError(error as Error)
    } finally {
      clearTimeout(timer)
    }
  }
}
