import { createHmac, timingSafeEqual } from 'node:crypto'

/** Names a row that says whose link it is, what for, until when, and whether it was used. */
export interface AccountLink {
  organisationId: string
  linkId: string
}

/** The purpose stands in the key, so that no other signature of ours can pass for a link. */
function seal(secretKey: string, content: Buffer): Buffer {
  return createHmac('sha256', createHmac('sha256', secretKey).update('account link').digest()).update(content).digest()
}

/** 86 signs of base64url: 32 bytes of ids, 32 of HMAC-SHA-256. The secret is made anew for each mail and kept nowhere. */
export function signAccountLink(secretKey: string, { organisationId, linkId }: AccountLink): string {
  const content = Buffer.from((organisationId + linkId).replaceAll('-', ''), 'hex')
  return Buffer.concat([content, seal(secretKey, content)]).toString('base64url')
}

function idText(hex: string): string {
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
}

/** @returns null where the text is forged or cut */
export function readAccountLink(secretKey: string, token: string): AccountLink | null {
  const bytes = Buffer.from(token, 'base64url')
  if (bytes.length !== 64 || bytes.toString('base64url') !== token) return null
  const content = bytes.subarray(0, 32)
  if (!timingSafeEqual(seal(secretKey, content), bytes.subarray(32))) return null
  return { organisationId: idText(content.toString('hex', 0, 16)), linkId: idText(content.toString('hex', 16, 32)) }
}

/** The secret stands after '#', so that it reaches no server's log. */
export function accountLinkUrl(publicUrl: string, token: string): string {
  return `${publicUrl.replace(/\/$/, '')}/account-link#${token}`
}
