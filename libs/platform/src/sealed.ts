import { createCipheriv, createDecipheriv, createHmac, randomBytes } from 'node:crypto'

const NONCE_BYTES = 12
const TAG_BYTES = 16

/** What secrets of webhooks are sealed for; the api seals them, the worker opens them. */
export const WEBHOOK_SECRETS = 'webhook secrets'

/** A key for one purpose: what is sealed for one is nothing for another. */
export function keyFor(secretKey: string, purpose: string): Buffer {
  return createHmac('sha256', secretKey).update(purpose).digest()
}

/**
 * AES-256-GCM, bound to its place: moved to another row, what was sealed opens no more.
 * @param place such as organisation and person
 * @returns nonce, tag and secret text in one
 */
export function seal(secretKey: string, purpose: string, place: string, text: string): Buffer {
  const nonce = randomBytes(NONCE_BYTES)
  const cipher = createCipheriv('aes-256-gcm', keyFor(secretKey, purpose), nonce).setAAD(Buffer.from(place))
  const hidden = Buffer.concat([cipher.update(text, 'utf8'), cipher.final()])
  return Buffer.concat([nonce, cipher.getAuthTag(), hidden])
}

/** @returns null where another key, purpose or place sealed it, or it was changed */
export function unseal(secretKey: string, purpose: string, place: string, sealed: Buffer): string | null {
  if (sealed.length < NONCE_BYTES + TAG_BYTES) return null
  const decipher = createDecipheriv('aes-256-gcm', keyFor(secretKey, purpose), sealed.subarray(0, NONCE_BYTES), {
    authTagLength: TAG_BYTES,
  })
  decipher.setAAD(Buffer.from(place)).setAuthTag(sealed.subarray(NONCE_BYTES, NONCE_BYTES + TAG_BYTES))
  try {
    return Buffer.concat([decipher.update(sealed.subarray(NONCE_BYTES + TAG_BYTES)), decipher.final()]).toString('utf8')
  } catch {
    return null
  }
}
