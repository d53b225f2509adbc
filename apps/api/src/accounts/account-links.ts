/** Invitations and forgotten passwords: a mail with a link that works once. */
import { InvalidError, newId, readAccountLink } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { tellSignInChange } from '../factors/tell-change.js'
import { refuseCommonPassword, storePassword } from '../sessions/session-use-cases.js'
import type { Changing, Reading } from '../use/work.js'

type Kind = 'invitation' | 'reset'
/** Links end by the database's own time, as sessions do. */
const LASTS: Readonly<Record<Kind, string>> = { invitation: '7 days', reset: '1 hour' }

export const linkEnded = () =>
  new InvalidError('LINK_ENDED', 'This link has been used, has ended, or is not whole. Ask for a new one.', '/token')

export async function endAccountLinks(changing: Changing, personId: string): Promise<void> {
  await changing.run(
    `UPDATE account_link SET used_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND used_at IS NULL`,
    [personId],
  )
}

/** Ends the person's earlier links, and puts the mail into the outbox in the same transaction. @returns until when the new one works */
async function sendLink(changing: Changing, personId: string, kind: Kind): Promise<string> {
  await endAccountLinks(changing, personId)
  const id = newId()
  const link = await changing.one<{ expiresAt: string }>(
    'link',
    `INSERT INTO account_link (organisation_id, id, person_id, kind, invited_by, created_at, expires_at)
     SELECT $1, $2, $3, $4, $5, t.now, t.now + $6::interval FROM (SELECT clock_timestamp() AS now) t RETURNING expires_at AS "expiresAt"`,
    [id, personId, kind, kind === 'invitation' ? changing.who.name : '', LASTS[kind]],
  )
  await changing.run(
    `INSERT INTO message (organisation_id, id, person_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     VALUES ($1, $2, $3, $4, 'account', $5, 'pending', $6, $6::timestamptz + $7::interval, '{"kind": "account"}', $6)`,
    [newId(), personId, changing.now.toISOString().slice(0, 10), id, changing.now, LASTS[kind]],
  )
  return link.expiresAt
}

export async function invitePerson(changing: Changing, personId: string): Promise<RouteResult<Routes['invitePerson']>> {
  const person = await changing.one<{ email: string | null; disabled: boolean }>(
    'person',
    `SELECT email, disabled_at IS NOT NULL AS disabled FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`,
    [personId],
  )
  if (person.email === null) throw new InvalidError('NO_ADDRESS', 'This person has no mail address to invite them at.')
  if (person.disabled) throw new InvalidError('PERSON_DISABLED', 'This person is disabled. Let them in again first.')
  const expiresAt = await sendLink(changing, personId, 'invitation')
  changing.note({ action: 'invite', subjectKind: 'person', subjectId: personId, after: { email: person.email, expiresAt } })
  return { expiresAt }
}

export async function sendReset(changing: Changing): Promise<void> {
  await sendLink(changing, changing.who.personId, 'reset')
  changing.note({ action: 'ask for a new password', subjectKind: 'person', subjectId: changing.who.personId })
}

interface OpenLink extends Record<string, unknown> {
  id: string
  kind: Kind
  personId: string
  personName: string
  email: string | null
  organisationName: string
}

/** @throws InvalidError: used, ended, of a disabled person and unknown all sound the same */
export async function openLink(reading: Reading, linkId: string): Promise<OpenLink> {
  const link = await reading.maybeOne<OpenLink>(
    `SELECT l.id, l.kind, p.id AS "personId", p.name AS "personName", p.email, o.name AS "organisationName"
     FROM account_link l JOIN person p ON p.organisation_id = $1 AND p.id = l.person_id JOIN organisation o ON o.id = $1
     WHERE l.organisation_id = $1 AND l.id = $2 AND l.used_at IS NULL AND l.expires_at > clock_timestamp() AND p.disabled_at IS NULL`,
    [linkId],
  )
  if (!link) throw linkEnded()
  return link
}

/** One of several that come at once wins: the row is taken before the password is stored. */
export async function takeLink(changing: Changing, linkId: string, newPassword: string): Promise<{ done: true }> {
  refuseCommonPassword(newPassword, '/newPassword')
  const { personId, kind } = await openLink(changing, linkId)
  const taken = await changing.run(
    `UPDATE account_link SET used_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND used_at IS NULL AND expires_at > clock_timestamp()`,
    [linkId],
  )
  if (taken !== 1) throw linkEnded()
  await storePassword(changing, personId, newPassword, null)
  if (kind === 'reset') await tellSignInChange(changing, personId, 'password')
  return { done: true }
}

/** @throws InvalidError for a forged or cut link */
export function linkOf(secretKey: string, token: string): { organisationId: string; linkId: string } {
  const link = readAccountLink(secretKey, token)
  if (!link) throw linkEnded()
  return link
}
