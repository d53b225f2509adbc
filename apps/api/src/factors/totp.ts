/** One-time codes by time (RFC 6238) as authenticator programs make them: SHA-1, six digits, thirty seconds. */
import { Secret, TOTP } from 'otpauth'

const DIGITS = 6
const STEP_SECONDS = 30
/** A clock may be off by a step, and a code may be typed as it changes. */
const STEPS_AROUND = 1
/** RFC 4226, 4: 160 bits. */
const SECRET_BYTES = 20

const make = (secret: string, label = '', issuer = ''): TOTP =>
  new TOTP({ secret: Secret.fromBase32(secret), label, issuer, algorithm: 'SHA1', digits: DIGITS, period: STEP_SECONDS })

/** @returns base32 */
export function newTotpSecret(): string {
  return new Secret({ size: SECRET_BYTES }).base32
}

/** @param label whose it is, @param issuer where; both are shown by the program that makes the codes */
export function totpUri(secret: string, label: string, issuer: string): string {
  return make(secret, label, issuer).toString()
}

/** The code of a moment, for tests. */
export function totpAt(secret: string, atMs: number): string {
  return make(secret).generate({ timestamp: atMs })
}

/**
 * Which step of time a code belongs to, in constant time for each step that is looked at.
 * @param atMs milliseconds since 1970
 * @returns number of the step, or null where the code is of none around now
 */
export function stepOfCode(secret: string, code: string, atMs: number): number | null {
  const totp = make(secret)
  const delta = totp.validate({ token: code, timestamp: atMs, window: STEPS_AROUND })
  return delta === null ? null : totp.counter({ timestamp: atMs }) + delta
}
