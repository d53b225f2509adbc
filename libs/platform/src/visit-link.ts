import { createHmac, timingSafeEqual } from 'node:crypto'

/** What a visiting technician's link opens: one visit, for one person. When it ends stands with the visit. */
export interface VisitLink {
  organisationId: string
  visitId: string
  personId: string
}

const IDS = ['organisationId', 'visitId', 'personId'] as const
const ID_BYTES = 16
const CONTENT_BYTES = IDS.length * ID_BYTES

/** The purpose stands in the key, so that no other signature of ours can pass for a link. */
function seal(secretKey: string, content: Buffer): Buffer {
  return createHmac('sha256', createHmac('sha256', secretKey).update('visit link').digest()).update(content).digest()
}

/** A text for the part of an address after '#': 48 bytes of ids, 32 of HMAC-SHA-256. */
export function signVisitLink(secretKey: string, link: VisitLink): string {
  const content = Buffer.concat(IDS.map((key) => Buffer.from(link[key].replaceAll('-', ''), 'hex')))
  return Buffer.concat([content, seal(secretKey, content)]).toString('base64url')
}

/** @returns null where the text is forged or cut */
export function readVisitLink(secretKey: string, token: string): VisitLink | null {
  const bytes = Buffer.from(token, 'base64url')
  if (bytes.length !== CONTENT_BYTES + 32 || bytes.toString('base64url') !== token) return null
  const content = bytes.subarray(0, CONTENT_BYTES)
  if (!timingSafeEqual(seal(secretKey, content), bytes.subarray(CONTENT_BYTES))) return null
  const idAt = (index: number): string =>
    content
      .subarray(index * ID_BYTES, (index + 1) * ID_BYTES)
      .toString('hex')
      .replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
  return { organisationId: idAt(0), visitId: idAt(1), personId: idAt(2) }
}

/** The secret stands after '#', so that it reaches no server's log. */
export function visitLinkUrl(publicUrl: string, token: string): string {
  return `${publicUrl.replace(/\/$/, '')}/hand.html#visit=${token}`
}
