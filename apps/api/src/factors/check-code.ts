/** The second question at sign-in. Its outcome is a value, so that what was counted is kept although the sign-in is refused. */
import { AppError, unseal } from '@tapewarden/platform'
import type { Changing, Reading } from '../use/work.js'
import { readRecoveryCode, takeRecoveryCode } from './recovery-codes.js'
import { stepOfCode } from './totp.js'

export const SEALED_FOR = 'one-time codes'
export const placeOf = (organisationId: string, personId: string): string => `${organisationId} ${personId}`

/** So many wrong codes in a row cost nothing; then the wait doubles with each, up to an hour. */
const FREE_TRIES = 5
const FIRST_WAIT_SECONDS = 30
const LONGEST_WAIT_SECONDS = 3600

/** @returns seconds from the last wrong code until the next is looked at */
export function waitAfter(failures: number): number {
  return failures < FREE_TRIES ? 0 : Math.min(LONGEST_WAIT_SECONDS, FIRST_WAIT_SECONDS * 2 ** Math.min(20, failures - FREE_TRIES))
}

export type Asked =
  | { outcome: 'no codes' | 'code' | 'recovery code' | 'missing' | 'wrong' | 'used before' }
  | { outcome: 'wait'; seconds: number }

interface FactorRow extends Record<string, unknown> {
  sealed: Buffer
  lastStep: string
  failures: number
  secondsSince: number | null
  nowMs: number
}

const FACTOR = `SELECT sealed_secret AS sealed, last_step AS "lastStep", failures, extract(epoch FROM clock_timestamp() - failed_at)::float8 AS "secondsSince",
    extract(epoch FROM clock_timestamp())::float8 * 1000 AS "nowMs"
  FROM second_factor WHERE organisation_id = $1 AND person_id = $2 AND confirmed_at`

/** The row is held until the end, so that of several that come at once with one code the first alone counts. */
export async function askSecondFactor(changing: Changing, secretKey: string, personId: string, code: string | undefined): Promise<Asked> {
  const factor = await changing.maybeOne<FactorRow>(`${FACTOR} IS NOT NULL FOR UPDATE`, [personId])
  if (!factor) return { outcome: 'no codes' }
  if (code === undefined) return { outcome: 'missing' }
  const recovery = readRecoveryCode(code)
  if (recovery !== null) {
    const taken = await takeRecoveryCode(changing, secretKey, personId, recovery)
    return { outcome: taken ? 'recovery code' : 'wrong' }
  }
  const left = waitAfter(factor.failures) - (factor.secondsSince ?? Number.POSITIVE_INFINITY)
  if (left > 0) return { outcome: 'wait', seconds: Math.ceil(left) }
  return { outcome: await takeCode(changing, secretKey, personId, factor, code) }
}

async function takeCode(
  changing: Changing,
  secretKey: string,
  personId: string,
  factor: FactorRow,
  code: string,
): Promise<'code' | 'wrong' | 'used before'> {
  const secret = unseal(secretKey, SEALED_FOR, placeOf(changing.who.organisationId, personId), factor.sealed)
  const step = secret === null ? null : stepOfCode(secret, code.replace(/\s/g, ''), factor.nowMs)
  if (step !== null && step > Number(factor.lastStep)) {
    await changing.run(
      `UPDATE second_factor SET last_step = $3, failures = 0, failed_at = NULL WHERE organisation_id = $1 AND person_id = $2`,
      [personId, step],
    )
    return 'code'
  }
  await changing.run(
    `UPDATE second_factor SET failures = failures + 1, failed_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2`,
    [personId],
  )
  return step === null ? 'wrong' : 'used before'
}

/** @returns how the person showed who they are, for the history @throws AppError where they did not */
export function byWhat(asked: Asked): string {
  switch (asked.outcome) {
    case 'no codes':
      return 'password'
    case 'code':
      return 'password and code'
    case 'recovery code':
      return 'password and recovery code'
    case 'missing':
      throw new AppError('forbidden', 'SECOND_FACTOR_NEEDED', 'Now the six digits that your authenticator shows, or a recovery code.')
    case 'used before':
      throw new AppError('forbidden', 'CODE_USED', 'This code has been used. Wait for the next one, and type that.', '/code')
    case 'wrong':
      throw new AppError('forbidden', 'CODE_REFUSED', 'This is not the code of this moment, nor an unused recovery code.', '/code')
    case 'wait':
      throw new AppError(
        'too_many',
        'TOO_MANY_TRIES',
        `Too many wrong codes. Wait ${asked.seconds} seconds, or use a recovery code.`,
        undefined,
        {
          retryAfterSeconds: asked.seconds,
        },
      )
  }
}

/** A confirmed secret, or one that was begun. */
export async function secretOf(
  reading: Reading,
  secretKey: string,
  personId: string,
  confirmed: boolean,
): Promise<(FactorRow & { secret: string }) | null> {
  const row = await reading.maybeOne<FactorRow>(`${FACTOR} IS ${confirmed ? 'NOT NULL' : 'NULL'} FOR UPDATE`, [personId])
  const secret = row && unseal(secretKey, SEALED_FOR, placeOf(reading.who.organisationId, personId), row.sealed)
  return row && typeof secret === 'string' ? { ...row, secret } : null
}
