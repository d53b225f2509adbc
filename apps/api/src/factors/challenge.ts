/** What an authenticator signs. It carries its own end and seal, so that nothing is kept before somebody has answered. */
import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto'
import { keyFor } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'

const LASTS_MS = 300_000
const END_BYTES = 6
const RANDOM_BYTES = 16
const CONTENT_BYTES = END_BYTES + RANDOM_BYTES

const sealOf = (secretKey: string, purpose: string, content: Buffer): Buffer =>
  createHmac('sha256', keyFor(secretKey, 'passkey challenge')).update(`${purpose} `).update(content).digest()

/** @param purpose sign-in, or whose new passkey: a challenge for one is none for another */
export function newChallenge(secretKey: string, purpose: string, nowMs: number): Uint8Array<ArrayBuffer> {
  const content = Buffer.alloc(CONTENT_BYTES)
  content.writeUIntBE(Math.floor(nowMs) + LASTS_MS, 0, END_BYTES)
  randomBytes(RANDOM_BYTES).copy(content, END_BYTES)
  return new Uint8Array(Buffer.concat([content, sealOf(secretKey, purpose, content)]))
}

export function isOurChallenge(secretKey: string, purpose: string, nowMs: number, challenge: string): boolean {
  const bytes = Buffer.from(challenge, 'base64url')
  if (bytes.length !== CONTENT_BYTES + 32 || bytes.toString('base64url') !== challenge) return false
  const content = bytes.subarray(0, CONTENT_BYTES)
  return timingSafeEqual(sealOf(secretKey, purpose, content), bytes.subarray(CONTENT_BYTES)) && content.readUIntBE(0, END_BYTES) > nowMs
}

/** One of several that come at once wins; what has ended anyway is forgotten. @returns false where it was answered before */
export async function takeChallenge(changing: Changing, challenge: string): Promise<boolean> {
  await changing.run(`DELETE FROM used_challenge WHERE organisation_id = $1 AND used_at < clock_timestamp() - interval '1 hour'`)
  const taken = await changing.run(
    `INSERT INTO used_challenge (organisation_id, challenge, used_at) VALUES ($1, $2, clock_timestamp()) ON CONFLICT DO NOTHING`,
    [challenge],
  )
  return taken === 1
}
