import type { Logger, Settings } from '@tapewarden/platform'
import { noPlanningRequests, type PlanningRequests } from './planning-requests.js'

export async function openPlanningRequests(_settings: Settings, _logger: Logger): Promise<PlanningRequests> {
  return noPlanningRequests
}
