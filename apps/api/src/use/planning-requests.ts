/**
 * Asks for a planning pass of a warehouse soon. A request that is lost costs time, never truth: the sweep finds
 * every warehouse whose evidence_version is ahead of its planned_version.
 */
export interface PlanningRequests {
  request(organisationId: string, warehouseId: string): Promise<void>
  close(): Promise<void>
}

/** For tests and for an api without a queue: the sweep does it. */
export const noPlanningRequests: PlanningRequests = { request: async () => undefined, close: async () => undefined }
