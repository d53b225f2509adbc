import { createHmac, timingSafeEqual } from 'node:crypto'

/** Whose reminder mails a one-click POST turns off (RFC 8058): needs no sign-in, does nothing else, never by GET. */
export interface UnsubscribeLink {
  organisationId: string
  personId: string
}

/** 128 of the 256 bits: short enough that the header is never folded, and far beyond guessing. */
const SEAL_BYTES = 16

function seal(secretKey: string, content: Buffer): Buffer {
  const key = createHmac('sha256', secretKey).update('unsubscribe link').digest()
  return createHmac('sha256', key).update(content).digest().subarray(0, SEAL_BYTES)
}

function contentOf({ organisationId, personId }: UnsubscribeLink): Buffer {
  return Buffer.from((organisationId + personId).replaceAll('-', ''), 'hex')
}

/** 64 signs of base64url: 32 bytes of ids, 16 of HMAC-SHA-256. */
export function signUnsubscribeLink(secretKey: string, link: UnsubscribeLink): string {
  const content = contentOf(link)
  return Buffer.concat([content, seal(secretKey, content)]).toString('base64url')
}

function idText(hex: string): string {
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
}

/** @returns null where the text is forged or cut */
export function readUnsubscribeLink(secretKey: string, token: string): UnsubscribeLink | null {
  const bytes = Buffer.from(token, 'base64url')
  if (bytes.length !== 32 + SEAL_BYTES || bytes.toString('base64url') !== token) return null
  const content = bytes.subarray(0, 32)
  if (!timingSafeEqual(seal(secretKey, content), bytes.subarray(32))) return null
  return { organisationId: idText(content.toString('hex', 0, 16)), personId: idText(content.toString('hex', 16, 32)) }
}

export function unsubscribeLinkUrl(publicUrl: string, token: string): string {
  return `${publicUrl.replace(/\/$/, '')}/unsubscribe/${token}`
}
