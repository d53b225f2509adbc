import { describe, expect, it } from '@jest/globals'
import { readVisitLink, signVisitLink, type VisitLink, visitLinkUrl } from './visit-link.js'
import { signRoundLink } from './round-link.js'

const KEY = 'k'.repeat(32)
const link: VisitLink = {
  organisationId: '01890a5d-ac96-774b-bcce-b302099a8057',
  visitId: '01890a5d-ac96-774b-bcce-b302099a8058',
  personId: '01890a5d-ac96-774b-bcce-b302099a8059',
}

describe('visit link', () => {
  const token = signVisitLink(KEY, link)
  it('gives back what was signed', () => {
    expect(readVisitLink(KEY, token)).toEqual(link)
    expect(visitLinkUrl('https://tapewarden.example/', token)).toBe(`https://tapewarden.example/hand.html#visit=${token}`)
  })
  it('refuses another key, every changed byte, cut text, and a link for a round', () => {
    expect(readVisitLink('x'.repeat(32), token)).toBeNull()
    const bytes = Buffer.from(token, 'base64url')
    for (let at = 0; at < bytes.length; at++) {
      const forged = Buffer.from(bytes)
      forged[at] = (forged[at] ?? 0) ^ 1
      expect(readVisitLink(KEY, forged.toString('base64url'))).toBeNull()
    }
    const round = signRoundLink(KEY, { ...link, warehouseId: link.visitId, month: '2026-05', expiresAt: new Date('2026-06-01') })
    for (const odd of ['', token.slice(1), `${token}=`, 'ü', round]) expect(readVisitLink(KEY, odd)).toBeNull()
  })
})
