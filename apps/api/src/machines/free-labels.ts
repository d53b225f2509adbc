import { InvalidError } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'

/** Digits that a counted label has at least. */
const DIGITS = 3
const MOST_DIGITS = 9

/**
 * Label codes that nobody has: counted on from the highest of this beginning.
 * Holds the organisation until the transaction ends, so that two who register at once count on from each other.
 */
export async function freeLabels(changing: Changing, prefix: string, count: number): Promise<string[]> {
  if (!/^[A-Za-z0-9][A-Za-z0-9_-]{0,28}$/.test(prefix))
    throw new InvalidError('NO_LABEL', 'A label begins with a letter or digit and holds letters, digits, - and _ only.', '/labelPrefix')
  await changing.rows(`SELECT pg_advisory_xact_lock(hashtextextended('labels ' || $1::text, 0)) IS NULL AS held`)
  const { last } = await changing.one<{ last: number }>(
    'organisation',
    `SELECT COALESCE(max(substr(label_code, length($2) + 1)::bigint), 0)::int AS last FROM machine
     WHERE organisation_id = $1 AND left(label_code, length($2)) = $2 AND substr(label_code, length($2) + 1) ~ '^[0-9]{1,${MOST_DIGITS}}$'`,
    [prefix],
  )
  const digits = Math.max(DIGITS, String(last + count).length)
  return Array.from({ length: count }, (_, index) => `${prefix}${String(last + 1 + index).padStart(digits, '0')}`)
}
