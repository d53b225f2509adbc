/** Sign-in by an organisation's own provider: OpenID Connect 1.0, code flow with PKCE (RFC 7636), state and nonce, by a well-kept library. */
import { AppError, type OidcProvider, seal, unseal } from '@tapewarden/platform'
import {
  authorizationCodeGrant,
  buildAuthorizationUrl,
  calculatePKCECodeChallenge,
  type Configuration,
  fetchUserInfo,
  randomNonce,
  randomPKCECodeVerifier,
  randomState,
} from 'openid-client'
import { z } from 'zod'
import type { Changing, Reading } from '../use/work.js'

/** What must come back unchanged; it goes with the browser, sealed, and lives ten minutes. */
const begunSchema = z.object({ key: z.string(), state: z.string(), nonce: z.string(), verifier: z.string(), endsMs: z.number() })
type Begun = z.infer<typeof begunSchema>
const SEALED_FOR = 'sign-in elsewhere'
export const BEGUN_LASTS_SECONDS = 600

export const notTaken = (why = 'This sign-in was not finished here, took too long, or was used. Begin again.') =>
  new AppError('forbidden', 'SIGN_IN_REFUSED', why)

export function backUrl(publicUrl: string): string {
  return `${publicUrl.replace(/\/$/, '')}/signed-in-elsewhere`
}

/** @returns where to send the browser, and what it brings back */
export async function begin(
  configuration: Configuration,
  provider: OidcProvider,
  { secretKey, publicUrl }: { secretKey: string; publicUrl: string },
): Promise<{ url: string; kept: string }> {
  const begun: Begun = {
    key: provider.key,
    state: randomState(),
    nonce: randomNonce(),
    verifier: randomPKCECodeVerifier(),
    endsMs: Date.now() + BEGUN_LASTS_SECONDS * 1000,
  }
  const url = buildAuthorizationUrl(configuration, {
    redirect_uri: backUrl(publicUrl),
    scope: 'openid email',
    state: begun.state,
    nonce: begun.nonce,
    code_challenge: await calculatePKCECodeChallenge(begun.verifier),
    code_challenge_method: 'S256',
  })
  return { url: url.href, kept: seal(secretKey, SEALED_FOR, 'cookie', JSON.stringify(begun)).toString('base64url') }
}

/** @throws AppError for what is missing, forged or old */
export function readBegun(secretKey: string, kept: string | undefined): Begun {
  const text = kept === undefined ? null : unseal(secretKey, SEALED_FOR, 'cookie', Buffer.from(kept, 'base64url'))
  const begun = text === null ? null : begunSchema.parse(JSON.parse(text))
  if (!begun || begun.endsMs < Date.now()) throw notTaken()
  return begun
}

export interface Claims {
  subject: string
  /** null: the provider does not vouch for it. */
  verifiedEmail: string | null
}

/** Code for token, with everything that the library checks: state, nonce, issuer, audience, signature, times. */
export async function claimsOf(configuration: Configuration, begun: Begun, search: string, publicUrl: string): Promise<Claims> {
  const came = new URL(backUrl(publicUrl))
  came.search = search
  const tokens = await authorizationCodeGrant(configuration, came, {
    expectedState: begun.state,
    expectedNonce: begun.nonce,
    pkceCodeVerifier: begun.verifier,
    idTokenExpected: true,
  }).catch(() => {
    throw notTaken()
  })
  const claims = tokens.claims()
  if (!claims) throw notTaken()
  const said =
    claims.email === undefined && configuration.serverMetadata().userinfo_endpoint !== undefined
      ? await fetchUserInfo(configuration, tokens.access_token, claims.sub).catch(() => claims)
      : claims
  const verified = said.email_verified === true && typeof said.email === 'string'
  return { subject: claims.sub, verifiedEmail: verified ? String(said.email) : null }
}

export interface FoundHere {
  personId: string
  name: string
  /** False: an invited person, whom this sign-in is not linked to yet. */
  linked: boolean
}

type Row<Fields> = Fields & Record<string, unknown>

/** By who they are there; the first time by an address that the provider vouches for. @throws AppError where nobody is meant */
export async function findHere(reading: Reading, issuer: string, { subject, verifiedEmail }: Claims): Promise<FoundHere> {
  const known = await reading.maybeOne<Row<{ personId: string; name: string; disabled: boolean }>>(
    `SELECT p.id AS "personId", p.name, p.disabled_at IS NOT NULL AS disabled FROM external_identity x
     JOIN person p ON p.organisation_id = $1 AND p.id = x.person_id WHERE x.organisation_id = $1 AND x.issuer = $2 AND x.subject = $3`,
    [issuer, subject],
  )
  if (known?.disabled) throw notTaken('Nobody signs in here under that sign-in. Ask your administrator.')
  if (known) return { personId: known.personId, name: known.name, linked: true }
  if (verifiedEmail === null)
    throw notTaken('That sign-in does not vouch for a mail address. Sign in with the password, or ask your administrator.')
  const invited = await reading.maybeOne<Row<{ personId: string; name: string }>>(
    `SELECT p.id AS "personId", p.name FROM person p WHERE p.organisation_id = $1 AND lower(p.email) = lower($2) AND p.disabled_at IS NULL
       AND EXISTS (SELECT 1 FROM account_link l WHERE l.organisation_id = $1 AND l.person_id = p.id AND l.kind = 'invitation')`,
    [verifiedEmail],
  )
  if (!invited) throw notTaken('Nobody here was invited under the address of that sign-in. Ask your administrator for an invitation.')
  return { ...invited, linked: false }
}

/** One person here is one person there: who comes second under the same is refused. */
export async function noteSignIn(changing: Changing, issuer: string, { subject }: Claims, { personId, linked }: FoundHere): Promise<void> {
  if (linked) {
    await changing.run(
      `UPDATE external_identity SET last_used_at = clock_timestamp() WHERE organisation_id = $1 AND issuer = $2 AND subject = $3`,
      [issuer, subject],
    )
    return
  }
  const made = await changing.run(
    `INSERT INTO external_identity (organisation_id, issuer, subject, person_id, created_at, last_used_at)
     VALUES ($1, $2, $3, $4, clock_timestamp(), clock_timestamp()) ON CONFLICT DO NOTHING`,
    [issuer, subject, personId],
  )
  if (made !== 1) throw notTaken('Somebody else of that sign-in is this person already. Ask your administrator.')
  await changing.run(
    `UPDATE account_link SET used_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND used_at IS NULL`,
    [personId],
  )
  changing.note({ action: 'link sign-in', subjectKind: 'person', subjectId: personId, after: { issuer } })
}
