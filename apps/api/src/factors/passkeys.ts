/** Passkeys (W3C Web Authentication), checked by a well-kept library; the device must have asked for finger, face or PIN. */
import { AppError, ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import type { Changing, Reading } from '../use/work.js'
import { isOurChallenge, newChallenge, takeChallenge } from './challenge.js'
import type { PasskeyPlace } from './passkey-place.js'
import { tellSignInChange } from './tell-change.js'

export interface PasskeySettings {
  secretKey: string
  place: PasskeyPlace
  /** By the database's own time. */
  nowMs: number
}

/** Loaded when a passkey is first used: it and the certificates' readers that it brings are a tenth of a start. */
const webAuthn = () => import('@simplewebauthn/server')

const MOST = 20
/** COSE: EdDSA, ES256, RS256. */
const ALGORITHMS = [-8, -7, -257]
const SIGN_IN = 'sign-in'
const newOneOf = (personId: string): string => `new one of ${personId}`

export async function passkeyOptions(
  reading: Reading,
  { secretKey, place, nowMs }: PasskeySettings,
): Promise<RouteResult<Routes['passkeyOptions']>> {
  const { personId } = reading.who
  const person = await reading.one<{ name: string; email: string | null }>(
    'person',
    `SELECT name, email FROM person WHERE organisation_id = $1 AND id = $2`,
    [personId],
  )
  const known = await reading.rows<{ id: string }>(
    `SELECT credential_id AS id FROM passkey WHERE organisation_id = $1 AND person_id = $2`,
    [personId],
  )
  if (known.length >= MOST) throw new InvalidError('TOO_MANY_PASSKEYS', `There are ${MOST} passkeys already. Forget one first.`)
  const { generateRegistrationOptions } = await webAuthn()
  const options = await generateRegistrationOptions({
    rpName: 'Tapewarden',
    rpID: place.host,
    userName: person.email ?? person.name,
    userDisplayName: person.name,
    userID: new Uint8Array(Buffer.from(personId)),
    challenge: newChallenge(secretKey, newOneOf(personId), nowMs),
    excludeCredentials: known,
    // Found without a name typed first, and opened by finger, face or PIN.
    authenticatorSelection: { residentKey: 'required', userVerification: 'required' },
    supportedAlgorithmIDs: ALGORITHMS,
    timeout: 300_000,
  })
  return { options: { ...options } }
}

const refused = (why: string) => new InvalidError('PASSKEY_REFUSED', why, '/credential')

/** Of a failure that the library throws, nothing is told but that it was one. */
const orNull = <Answer>(work: Promise<Answer>): Promise<Answer | null> => work.catch(() => null)

export async function addPasskey(
  changing: Changing,
  { secretKey, place, nowMs }: PasskeySettings,
  { name, credential }: RouteBody<Routes['addPasskey']>,
): Promise<RouteResult<Routes['addPasskey']>> {
  const { personId } = changing.who
  let challenge = ''
  const { response, authenticatorAttachment: _attachment, ...rest } = credential
  const { verifyRegistrationResponse } = await webAuthn()
  const checked = await orNull(
    verifyRegistrationResponse({
      response: {
        ...rest,
        clientExtensionResults: {},
        response: { clientDataJSON: response.clientDataJSON, attestationObject: response.attestationObject },
      },
      expectedChallenge: (text) => {
        challenge = text
        return isOurChallenge(secretKey, newOneOf(personId), nowMs, text)
      },
      expectedOrigin: place.origin,
      expectedRPID: place.host,
      requireUserVerification: true,
      supportedAlgorithmIDs: ALGORITHMS,
    }),
  )
  if (!checked?.verified) throw refused('This passkey could not be checked. Begin again, on the page of this installation.')
  if (!(await takeChallenge(changing, challenge))) throw refused('This was answered before. Begin again.')
  const { credential: made, credentialBackedUp } = checked.registrationInfo
  const id = newId()
  const kept = await changing.one<RouteResult<Routes['addPasskey']> & Record<string, unknown>>(
    'passkey',
    `INSERT INTO passkey (organisation_id, id, person_id, name, credential_id, public_key, sign_count, backed_up, created_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, clock_timestamp())
     RETURNING id, name, created_at AS "createdAt", last_used_at AS "lastUsedAt", backed_up AS "backedUp"`,
    [id, personId, name, made.id, Buffer.from(made.publicKey).toString('base64url'), made.counter, credentialBackedUp],
  )
  changing.note({ action: 'add passkey', subjectKind: 'passkey', subjectId: id, after: { name, backedUp: credentialBackedUp } })
  await tellSignInChange(changing, personId, 'passkey_added')
  return kept
}

export async function removePasskey(changing: Changing, passkeyId: string): Promise<{ done: true }> {
  const { personId } = changing.who
  const gone = await changing.one<{ name: string }>(
    'passkey',
    `DELETE FROM passkey WHERE organisation_id = $1 AND id = $2 AND person_id = $3 RETURNING name`,
    [passkeyId, personId],
  )
  const ways = await changing.rows(
    `SELECT 1 FROM person p WHERE p.organisation_id = $1 AND p.id = $2 AND (p.password_hash IS NOT NULL
       OR EXISTS (SELECT 1 FROM passkey k WHERE k.organisation_id = $1 AND k.person_id = $2))`,
    [personId],
  )
  if (ways.length === 0) throw new ConflictError('LAST_WAY_IN', 'There is no password: without this passkey nobody could sign in here.')
  changing.note({ action: 'forget passkey', subjectKind: 'passkey', subjectId: passkeyId, before: { name: gone.name } })
  await tellSignInChange(changing, personId, 'passkey_forgotten')
  return { done: true }
}

export async function signInOptions({ secretKey, place, nowMs }: PasskeySettings): Promise<RouteResult<Routes['passkeySignInOptions']>> {
  const { generateAuthenticationOptions } = await webAuthn()
  const options = await generateAuthenticationOptions({
    rpID: place.host,
    challenge: newChallenge(secretKey, SIGN_IN, nowMs),
    userVerification: 'required',
    timeout: 300_000,
  })
  return { options: { ...options } }
}

interface KeptPasskey extends Record<string, unknown> {
  credentialId: string
  publicKey: string
  signCount: string
  personId: string
}

export const passkeyNotTaken = () =>
  new AppError('forbidden', 'SIGN_IN_REFUSED', 'This passkey does not open anything here. Sign in with the password, or try another.')

/** The row is held until the end: one answer opens one session. @throws AppError, always in the same words */
export async function takePasskey(
  changing: Changing,
  { secretKey, place, nowMs }: PasskeySettings,
  passkeyId: string,
  { credential }: RouteBody<Routes['signInByPasskey']>,
): Promise<void> {
  const kept = await changing.maybeOne<KeptPasskey>(
    `SELECT k.credential_id AS "credentialId", k.public_key AS "publicKey", k.sign_count AS "signCount", k.person_id AS "personId"
     FROM passkey k JOIN person p ON p.organisation_id = $1 AND p.id = k.person_id AND p.disabled_at IS NULL
     WHERE k.organisation_id = $1 AND k.id = $2 FOR UPDATE OF k`,
    [passkeyId],
  )
  if (!kept) throw passkeyNotTaken()
  let challenge = ''
  const { response, authenticatorAttachment: _attachment, ...rest } = credential
  const { userHandle, ...signed } = response
  const { verifyAuthenticationResponse } = await webAuthn()
  const checked = await orNull(
    verifyAuthenticationResponse({
      response: { ...rest, clientExtensionResults: {}, response: { ...signed, ...(typeof userHandle === 'string' ? { userHandle } : {}) } },
      expectedChallenge: (text) => {
        challenge = text
        return isOurChallenge(secretKey, SIGN_IN, nowMs, text)
      },
      expectedOrigin: place.origin,
      expectedRPID: place.host,
      requireUserVerification: true,
      credential: {
        id: kept.credentialId,
        publicKey: new Uint8Array(Buffer.from(kept.publicKey, 'base64url')),
        counter: Number(kept.signCount),
      },
    }),
  )
  if (!checked?.verified || !isHandleOf(userHandle, kept.personId) || !(await takeChallenge(changing, challenge))) throw passkeyNotTaken()
  await changing.run(
    `UPDATE passkey SET sign_count = $3, backed_up = $4, last_used_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2`,
    [passkeyId, checked.authenticationInfo.newCounter, checked.authenticationInfo.credentialBackedUp],
  )
}

/** The authenticator says for whom it made the passkey; where it says nothing, the passkey itself is enough. */
const isHandleOf = (handle: string | null | undefined, personId: string): boolean =>
  handle === undefined || handle === null || handle === '' || Buffer.from(handle, 'base64url').toString() === personId
