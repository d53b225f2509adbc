import { ForbiddenError, InvalidError } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { hashPassword } from '../sessions/passwords.js'
import type { Changing } from '../use/work.js'

const RISING = '01234567890'
const FALLING = '09876543210'

/** One digit all along, a straight row, a pair repeated, or a year: what is tried first by whoever stands beside. */
export function isEasyCode(code: string): boolean {
  const repeated = /^(\d)\1*$/.test(code) || /^(\d\d)\1+$/.test(code)
  return repeated || RISING.includes(code) || FALLING.includes(code) || /^(19|20)\d\d$/.test(code)
}

/** Turns that were begun with the former code end; what was typed in them and not sent waits for the new one. */
export async function setShortCode(changing: Changing, code: string | null): Promise<RouteResult<Routes['setShortCode']>> {
  const { personId, tablet } = changing.who
  if (tablet) throw new ForbiddenError('NOT_ON_A_SHARED_TABLET', 'A short code is set where one is signed in by password.')
  if (code !== null && isEasyCode(code))
    throw new InvalidError(
      'EASY_CODE',
      'This code is one of those that are tried first: choose digits without a row, a pair or a year.',
      '/code',
    )
  const { setAt } = await changing.one<{ setAt: string | null }>(
    'person',
    `UPDATE person SET short_code_hash = $3, short_code_set_at = $4, short_code_wrong = 0, short_code_waits_until = NULL, version = version + 1
     WHERE organisation_id = $1 AND id = $2 RETURNING short_code_set_at AS "setAt"`,
    [personId, code === null ? null : await hashPassword(code), code === null ? null : changing.now],
  )
  await changing.run(
    `UPDATE session SET ended_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND tablet_id IS NOT NULL AND ended_at IS NULL`,
    [personId],
  )
  changing.note({ action: code === null ? 'remove short code' : 'set short code', subjectKind: 'person', subjectId: personId })
  return { setAt }
}
