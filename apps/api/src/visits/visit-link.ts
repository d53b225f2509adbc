import { InvalidError, signVisitLink, visitLinkUrl } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { endOfVisit } from '../sessions/identities.js'
import type { Changing } from '../use/work.js'
import { getVisit } from './visits.js'

export interface LinkSettings {
  secretKey: string
  publicUrl: string
}

/** For a technician of another firm: it opens this visit's orders, and ends on the visit's night there. */
export async function makeVisitLink(
  changing: Changing,
  settings: LinkSettings,
  visitId: string,
): Promise<RouteResult<Routes['createVisitLink']>> {
  const visit = await getVisit(changing, visitId)
  if (!visit.technician) throw new InvalidError('NO_TECHNICIAN', 'Name the technician of this visit first; the link is theirs alone.')
  const { zone } = await changing.one<{ zone: string }>('warehouse', `SELECT zone FROM warehouse WHERE organisation_id = $1 AND id = $2`, [
    visit.warehouse.id,
  ])
  const expiresAt = endOfVisit({ visitOn: visit.visitOn, zone })
  if (expiresAt <= changing.now) throw new InvalidError('VISIT_IS_OVER', 'The day of this visit is over.')
  const link = { organisationId: changing.organisationId, visitId, personId: visit.technician.id }
  changing.note({ action: 'make visit link', subjectKind: 'visit', subjectId: visitId, after: { personId: visit.technician.id } })
  return { url: visitLinkUrl(settings.publicUrl, signVisitLink(settings.secretKey, link)), expiresAt: expiresAt.toISOString() }
}
