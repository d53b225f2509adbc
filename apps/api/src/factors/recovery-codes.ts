/** Codes for when the phone is gone: shown once, kept as a keyed hash, each good once. */
import { createHmac, randomBytes } from 'node:crypto'
import { keyFor, newId } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'

/** Without i, l, o, u, which are misread; 32 signs are 5 bits each. */
const SIGNS = '0123456789abcdefghjkmnpqrstvwxyz'
const LENGTH = 12
const HOW_MANY = 10

/** 60 bits, as k7m2-9xq4-t0bd. */
function newCode(): string {
  const signs = [...randomBytes(LENGTH)].map((byte) => SIGNS[byte & 31]).join('')
  return signs.replace(/(.{4})(?=.)/g, '$1-')
}

/** @returns null where the text cannot be such a code */
export function readRecoveryCode(text: string): string | null {
  const plain = text.toLowerCase().replace(/[\s-]/g, '').replaceAll('o', '0').replace(/[il]/g, '1')
  return /^[0-9a-hjkmnp-tv-z]{12}$/.test(plain) ? plain : null
}

function hashOf(secretKey: string, personId: string, plain: string): Buffer {
  return createHmac('sha256', keyFor(secretKey, 'recovery code')).update(`${personId} ${plain}`).digest()
}

/** The earlier ones end. */
export async function renewCodes(changing: Changing, secretKey: string, personId: string): Promise<string[]> {
  const codes = Array.from({ length: HOW_MANY }, newCode)
  await changing.run(`DELETE FROM recovery_code WHERE organisation_id = $1 AND person_id = $2`, [personId])
  for (const code of codes)
    await changing.run(
      `INSERT INTO recovery_code (organisation_id, id, person_id, code_hash, created_at) VALUES ($1, $2, $3, $4, clock_timestamp())`,
      [newId(), personId, hashOf(secretKey, personId, code.replaceAll('-', ''))],
    )
  return codes
}

/** One of several that come at once wins. @returns false where it is unknown or was used */
export async function takeRecoveryCode(changing: Changing, secretKey: string, personId: string, plain: string): Promise<boolean> {
  const taken = await changing.run(
    `UPDATE recovery_code SET used_at = clock_timestamp() WHERE organisation_id = $1 AND person_id = $2 AND code_hash = $3 AND used_at IS NULL`,
    [personId, hashOf(secretKey, personId, plain)],
  )
  return taken === 1
}
