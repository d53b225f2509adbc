import { isMailAddress, renderAccountMail, type RenderedMail } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import { accountLinkUrl, signAccountLink } from '@tapewarden/platform'
import type { WorkerSettings } from '../settings.js'
import type { Claimed } from './claim.js'

export interface LoadedAccountMail {
  rendered: RenderedMail
  to: { name: string; address: string }
  unsubscribeUrl: null
}

interface Row extends Record<string, unknown> {
  id: string
  kind: 'invitation' | 'reset'
  invitedBy: string
  name: string
  email: string | null
  language: string
  disabled: boolean
  ended: boolean
  organisation: string
}

/** @returns a word on why there is nothing to send, where there is nothing */
export async function loadAccountMail(scope: PgScope, message: Claimed, settings: WorkerSettings): Promise<LoadedAccountMail | string> {
  const { organisationId } = scope
  const [row] = await scope.rows<Row>(
    `SELECT l.id, l.kind, l.invited_by AS "invitedBy", p.name, p.email, p.language, p.disabled_at IS NOT NULL AS disabled,
       l.used_at IS NOT NULL OR l.expires_at <= clock_timestamp() AS ended, o.name AS organisation
     FROM message m JOIN account_link l ON l.organisation_id = $1 AND l.id::text = m.class_key
     JOIN person p ON p.organisation_id = $1 AND p.id = l.person_id JOIN organisation o ON o.id = $1
     WHERE m.organisation_id = $1 AND m.id = $2`,
    [organisationId, message.id],
  )
  if (!row || row.ended) return 'the link has ended'
  if (row.disabled || row.email === null || !isMailAddress(row.email)) return 'the person can have no mail'
  const rendered = renderAccountMail({
    kind: row.kind,
    person: row,
    organisationName: row.organisation,
    inviterName: row.invitedBy,
    url: accountLinkUrl(settings.PUBLIC_URL, signAccountLink(settings.SECRET_KEY, { organisationId, linkId: row.id })),
    today: message.localDay,
  })
  return { rendered, to: { name: row.name, address: row.email }, unsubscribeUrl: null }
}
