import { createHmac, timingSafeEqual } from 'node:crypto'

/** What a mail link opens: one month's round of one warehouse, for one person, until a moment. */
export interface RoundLink {
  organisationId: string
  warehouseId: string
  personId: string
  /** Such as '2026-05', of the warehouse's calendar. */
  month: string
  expiresAt: Date
}

const IDS = ['organisationId', 'warehouseId', 'personId'] as const

/** The purpose stands in the key, so that no other signature of ours can pass for a link. */
function seal(secretKey: string, content: Buffer): Buffer {
  return createHmac('sha256', createHmac('sha256', secretKey).update('round link').digest()).update(content).digest()
}

function idBytes(id: string): Buffer {
  return Buffer.from(id.replaceAll('-', ''), 'hex')
}

function idText(bytes: Buffer): string {
  return bytes.toString('hex').replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
}

/** A text for the part of an address after '#': 48 bytes of ids, 7 of the month, 8 of the end, 32 of HMAC-SHA-256. */
export function signRoundLink(secretKey: string, link: RoundLink): string {
  const end = Buffer.alloc(8)
  end.writeBigUInt64BE(BigInt(link.expiresAt.getTime()))
  const content = Buffer.concat([...IDS.map((key) => idBytes(link[key])), Buffer.from(link.month, 'latin1'), end])
  return Buffer.concat([content, seal(secretKey, content)]).toString('base64url')
}

const CONTENT_BYTES = 48 + 7 + 8

/** @returns null where the text is forged, cut, or past its end */
export function readRoundLink(secretKey: string, token: string, now: Date): RoundLink | null {
  const bytes = Buffer.from(token, 'base64url')
  if (bytes.length !== CONTENT_BYTES + 32 || bytes.toString('base64url') !== token) return null
  const content = bytes.subarray(0, CONTENT_BYTES)
  if (!timingSafeEqual(seal(secretKey, content), bytes.subarray(CONTENT_BYTES))) return null
  const expiresAt = new Date(Number(content.readBigUInt64BE(55)))
  if (expiresAt.getTime() <= now.getTime()) return null
  const [organisationId, warehouseId, personId] = [0, 16, 32].map((from) => idText(content.subarray(from, from + 16))) as [
    string,
    string,
    string,
  ]
  return { organisationId, warehouseId, personId, month: content.toString('latin1', 48, 55), expiresAt }
}

/** The secret stands after '#', so that it reaches no server's log. The page takes it away from the address bar. */
export function roundLinkUrl(publicUrl: string, token: string): string {
  return `${publicUrl.replace(/\/$/, '')}/hand.html#round=${token}`
}
