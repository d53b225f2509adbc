import { randomBytes } from 'node:crypto'
import { AppError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import { SESSION_DAYS } from '../http/cookie.js'
import { tellSignInChange } from '../factors/tell-change.js'
import { localDateOf } from '../use/local-day.js'
import type { Changing, Reading } from '../use/work.js'
import { tokenHashOf } from './identities.js'
import { hashPassword, isCommonPassword, passwordFits } from './passwords.js'
import { LEFT_UNUSED, UNUSED_ENDS_AT } from './unused.js'

interface MeRow extends Record<string, unknown> {
  id: string
  name: string
  email: string | null
  role: 'administrator' | 'manager' | 'technician' | 'instructed'
  language: string
  units: 'si' | 'us'
  electricallyQualified: boolean
  leadDays: number
  shortCodeSetAt: string | null
}

export async function me(reading: Reading): Promise<RouteResult<Routes['me']>> {
  const person = await reading.one<MeRow>(
    'person',
    `SELECT id, name, email, role, language, units, electrically_qualified AS "electricallyQualified", lead_days AS "leadDays", short_code_set_at AS "shortCodeSetAt"
     FROM person WHERE organisation_id = $1 AND id = $2`,
    [reading.who.personId],
  )
  const warehouses = await reading.rows<{ id: string; name: string; zone: string }>(
    `SELECT id, name, zone FROM warehouse WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR id = ANY($2)) ORDER BY name, id`,
    [reading.who.warehouseIds],
  )
  return {
    person,
    organisation: await organisation(reading),
    warehouses: warehouses.map((warehouse) => ({ ...warehouse, today: localDateOf(reading.now, warehouse.zone) })),
    visitId: reading.who.visitId ?? null,
    tabletName: reading.who.tablet?.name ?? null,
    serverTime: reading.now.toISOString(),
  }
}

export async function organisation(reading: Reading): Promise<{ id: string; name: string }> {
  return reading.one<{ id: string; name: string }>('organisation', `SELECT id, name FROM organisation WHERE id = $1`)
}

/**
 * Sessions live by the database's own time: a fixed or shifted clock neither ends nor prolongs them.
 * @returns the cookie's secret; only its hash is kept
 */
export async function openSession(changing: Changing, userAgent: string, by: string): Promise<string> {
  const token = randomBytes(32).toString('base64url')
  const id = newId()
  await changing.run(
    `INSERT INTO session (organisation_id, id, person_id, token_hash, created_at, last_seen_at, expires_at, user_agent)
     SELECT $1, $2, $3, $4, t.now, t.now, t.now + make_interval(days => $5), $6 FROM (SELECT clock_timestamp() AS now) t`,
    [id, changing.who.personId, tokenHashOf(token), SESSION_DAYS, userAgent.replaceAll('\u0000', '').slice(0, 300)],
  )
  changing.note({ action: 'sign in', subjectKind: 'session', subjectId: id, after: { by } })
  return token
}

export async function endSession(changing: Changing, sessionId: string): Promise<{ done: true }> {
  await changing.one(
    'session',
    `UPDATE session SET ended_at = $4 WHERE organisation_id = $1 AND id = $2 AND person_id = $3 AND ended_at IS NULL RETURNING id`,
    [sessionId, changing.who.personId, changing.now],
  )
  changing.note({ action: 'end session', subjectKind: 'session', subjectId: sessionId })
  return { done: true }
}

interface SessionRow extends Record<string, unknown> {
  id: string
  createdAt: string
  lastSeenAt: string
  expiresAt: string
  unusedEndsAt: string
  userAgent: string
}

export async function listSessions(reading: Reading): Promise<RouteResult<Routes['listSessions']>> {
  const rows = await reading.rows<SessionRow>(
    `SELECT s.id, s.created_at AS "createdAt", s.last_seen_at AS "lastSeenAt", s.expires_at AS "expiresAt", s.user_agent AS "userAgent",
       LEAST(s.expires_at, CASE WHEN s.tablet_id IS NULL THEN ${UNUSED_ENDS_AT} END) AS "unusedEndsAt"
     FROM session s JOIN person p ON p.organisation_id = s.organisation_id AND p.id = s.person_id
     WHERE s.organisation_id = $1 AND s.person_id = $2 AND s.ended_at IS NULL AND s.expires_at > clock_timestamp()
       AND (s.tablet_id IS NOT NULL OR NOT ${LEFT_UNUSED}) ORDER BY s.last_seen_at DESC, s.id`,
    [reading.who.personId],
  )
  return { items: rows.map((row) => ({ ...row, current: row.id === reading.who.sessionId })) }
}

export async function patchMe(changing: Changing, body: RouteBody<Routes['patchMe']>): Promise<RouteResult<Routes['me']>> {
  const before = (await me(changing)).person
  await changing.run(
    `UPDATE person SET language = COALESCE($3, language), units = COALESCE($4, units), lead_days = COALESCE($5, lead_days), version = version + 1
     WHERE organisation_id = $1 AND id = $2`,
    [changing.who.personId, body.language ?? null, body.units ?? null, body.leadDays ?? null],
  )
  const after = await me(changing)
  changing.note({ action: 'change', subjectKind: 'person', subjectId: before.id, before, after: after.person })
  return after
}

export function refuseCommonPassword(password: string, pointer: string): void {
  if (isCommonPassword(password))
    throw new InvalidError('COMMON_PASSWORD', 'This password is one of those that are tried first. Choose another.', pointer)
}

/** Ends the person's sessions but the one named. */
export async function storePassword(changing: Changing, personId: string, password: string, keepSessionId: string | null): Promise<void> {
  await changing.one(
    'person',
    `UPDATE person SET password_hash = $3, version = version + 1 WHERE organisation_id = $1 AND id = $2 RETURNING id`,
    [personId, await hashPassword(password)],
  )
  await changing.run(
    `UPDATE session SET ended_at = $4 WHERE organisation_id = $1 AND person_id = $2 AND ended_at IS NULL AND id IS DISTINCT FROM $3::uuid`,
    [personId, keepSessionId, changing.now],
  )
  changing.note({ action: 'set password', subjectKind: 'person', subjectId: personId })
}

export async function changePassword(changing: Changing, body: RouteBody<Routes['changePassword']>): Promise<{ done: true }> {
  refuseCommonPassword(body.newPassword, '/newPassword')
  const row = await changing.one<{ hash: string | null }>(
    'person',
    `SELECT password_hash AS hash FROM person WHERE organisation_id = $1 AND id = $2`,
    [changing.who.personId],
  )
  if (!(await passwordFits(row.hash, body.currentPassword)))
    throw new AppError('invalid', 'PASSWORD_WRONG', 'The present password is not this one.', '/currentPassword')
  await storePassword(changing, changing.who.personId, body.newPassword, changing.who.sessionId)
  await tellSignInChange(changing, changing.who.personId, 'password')
  return { done: true }
}
