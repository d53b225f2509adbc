/** One's own second factor: turned on, off and renewed, each time after the password was asked again. */
import { AppError, ConflictError, InvalidError, seal } from '@tapewarden/platform'
import type { Person, RouteResult, Routes } from '@tapewarden/shared'
import { getPerson } from '../people/people.js'
import { passwordFits } from '../sessions/passwords.js'
import type { Changing, Reading } from '../use/work.js'
import { placeOf, SEALED_FOR, secretOf } from './check-code.js'
import type { PasskeyPlace } from './passkey-place.js'
import { renewCodes } from './recovery-codes.js'
import { tellSignInChange } from './tell-change.js'
import { newTotpSecret, stepOfCode, totpUri } from './totp.js'

type Done = { done: true }
/** Who has no password shows by a sign-in of the last minutes that it is still them. */
const FRESH = '10 minutes'

interface StateRow extends Record<string, unknown> {
  codesSince: string | null
  recoveryCodesLeft: number
  hasPassword: boolean
}

export async function myFactors(reading: Reading, place: PasskeyPlace): Promise<RouteResult<Routes['myFactors']>> {
  const { personId } = reading.who
  const state = await reading.one<StateRow>(
    'person',
    `SELECT (SELECT confirmed_at FROM second_factor f WHERE f.organisation_id = $1 AND f.person_id = $2) AS "codesSince",
       (SELECT count(*)::int FROM recovery_code r WHERE r.organisation_id = $1 AND r.person_id = $2 AND r.used_at IS NULL) AS "recoveryCodesLeft",
       password_hash IS NOT NULL AS "hasPassword"
     FROM person WHERE organisation_id = $1 AND id = $2`,
    [personId],
  )
  const passkeys = await reading.rows<RouteResult<Routes['addPasskey']>>(
    `SELECT id, name, created_at AS "createdAt", last_used_at AS "lastUsedAt", backed_up AS "backedUp"
     FROM passkey WHERE organisation_id = $1 AND person_id = $2 ORDER BY created_at, id`,
    [personId],
  )
  return { ...state, passkeys, passkeyHost: place.host, passkeyOrigin: place.origin }
}

/** @throws AppError where a borrowed screen would be enough */
export async function askAgain(reading: Reading, currentPassword: string | undefined): Promise<void> {
  const row = await reading.one<{ hash: string | null; fresh: boolean }>(
    'person',
    `SELECT p.password_hash AS hash, EXISTS (SELECT 1 FROM session s WHERE s.organisation_id = $1 AND s.id = $3 AND s.person_id = $2
         AND s.created_at > clock_timestamp() - $4::interval) AS fresh
     FROM person p WHERE p.organisation_id = $1 AND p.id = $2`,
    [reading.who.personId, reading.who.sessionId, FRESH],
  )
  if (row.hash === null && row.fresh) return
  if (row.hash === null) throw new InvalidError('SIGN_IN_AGAIN', 'Sign out and in again first; then this is possible for ten minutes.')
  if (currentPassword === undefined || !(await passwordFits(row.hash, currentPassword)))
    throw new AppError('invalid', 'PASSWORD_WRONG', 'The present password is not this one.', '/currentPassword')
}

/** A secret that counts for nothing until its first code was shown. */
export async function beginCodes(changing: Changing, secretKey: string): Promise<RouteResult<Routes['beginCodes']>> {
  const { organisationId, personId } = changing.who
  const named = await changing.one<{ email: string | null; name: string; organisation: string }>(
    'person',
    `SELECT p.email, p.name, o.name AS organisation FROM person p JOIN organisation o ON o.id = $1 WHERE p.organisation_id = $1 AND p.id = $2`,
    [personId],
  )
  const secret = newTotpSecret()
  const begun = await changing.run(
    `INSERT INTO second_factor AS f (organisation_id, person_id, sealed_secret, created_at) VALUES ($1, $2, $3, clock_timestamp())
     ON CONFLICT (organisation_id, person_id) DO UPDATE SET sealed_secret = $3, created_at = clock_timestamp(), last_step = 0 WHERE f.confirmed_at IS NULL`,
    [personId, seal(secretKey, SEALED_FOR, placeOf(organisationId, personId), secret)],
  )
  if (begun !== 1) throw new ConflictError('CODES_ON', 'One-time codes are on. Turn them off first to begin with another phone.')
  const uri = totpUri(secret, named.email ?? named.name, `Tapewarden ${named.organisation}`.slice(0, 100))
  const { default: QrCode } = await import('qrcode')
  const svg = await QrCode.toString(uri, { type: 'svg', errorCorrectionLevel: 'M', margin: 4 })
  return { secret, uri, picture: `data:image/svg+xml;base64,${Buffer.from(svg).toString('base64')}` }
}

export async function confirmCodes(changing: Changing, secretKey: string, code: string): Promise<RouteResult<Routes['confirmCodes']>> {
  const { personId } = changing.who
  const begun = await secretOf(changing, secretKey, personId, false)
  if (!begun) throw new ConflictError('NOTHING_BEGUN', 'Nothing has been begun, or codes are on already.')
  const step = stepOfCode(begun.secret, code, begun.nowMs)
  if (step === null) throw new InvalidError('CODE_WRONG', 'This is not the code of this moment. Is the clock of the phone right?', '/code')
  await changing.run(
    `UPDATE second_factor SET confirmed_at = clock_timestamp(), last_step = $3, failures = 0, failed_at = NULL WHERE organisation_id = $1 AND person_id = $2`,
    [personId, step],
  )
  const recoveryCodes = await renewCodes(changing, secretKey, personId)
  changing.note({ action: 'turn one-time codes on', subjectKind: 'person', subjectId: personId })
  await tellSignInChange(changing, personId, 'codes_on')
  return { recoveryCodes }
}

export async function stopCodes(changing: Changing): Promise<Done> {
  const { personId } = changing.who
  const stopped = await changing.run(`DELETE FROM second_factor WHERE organisation_id = $1 AND person_id = $2`, [personId])
  await changing.run(`DELETE FROM recovery_code WHERE organisation_id = $1 AND person_id = $2`, [personId])
  if (stopped === 1) {
    changing.note({ action: 'turn one-time codes off', subjectKind: 'person', subjectId: personId })
    await tellSignInChange(changing, personId, 'codes_off')
  }
  return { done: true }
}

export async function renewRecoveryCodes(changing: Changing, secretKey: string): Promise<RouteResult<Routes['renewRecoveryCodes']>> {
  const { personId } = changing.who
  if (!(await secretOf(changing, secretKey, personId, true)))
    throw new ConflictError('CODES_OFF', 'One-time codes are off; recovery codes belong to them.')
  const recoveryCodes = await renewCodes(changing, secretKey, personId)
  changing.note({ action: 'renew recovery codes', subjectKind: 'person', subjectId: personId })
  await tellSignInChange(changing, personId, 'recovery_codes')
  return { recoveryCodes }
}

/** For somebody who lost phone and codes: the password alone signs in again, and no session that is open now goes on. */
export async function removeFactors(changing: Changing, personId: string): Promise<Person> {
  if (personId === changing.who.personId)
    throw new InvalidError('OWN_FACTORS', 'Your own you turn off on your account’s page, with your password.')
  await changing.rows(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [personId])
  const before = await getPerson(changing, personId)
  for (const table of ['recovery_code', 'second_factor', 'passkey', 'external_identity'])
    await changing.run(`DELETE FROM ${table} WHERE organisation_id = $1 AND person_id = $2`, [personId])
  await changing.run(`UPDATE session SET ended_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND ended_at IS NULL`, [
    personId,
  ])
  const after = await getPerson(changing, personId)
  changing.note({ action: 'take codes and passkeys away', subjectKind: 'person', subjectId: personId, before, after })
  await tellSignInChange(changing, personId, 'taken_away')
  return after
}
