import { describe, expect, it } from '@jest/globals'
import { readRoundLink, type RoundLink, roundLinkUrl, signRoundLink } from './round-link.js'

const KEY = 'k'.repeat(32)
const now = new Date('2026-05-04T08:00:00Z')
const link: RoundLink = {
  organisationId: '01890a5d-ac96-774b-bcce-b302099a8057',
  warehouseId: '01890a5d-ac96-774b-bcce-b302099a8058',
  personId: '01890a5d-ac96-774b-bcce-b302099a8059',
  month: '2026-05',
  expiresAt: new Date('2026-06-01T00:00:00Z'),
}

describe('round link', () => {
  const token = signRoundLink(KEY, link)
  it('gives back what was signed, until its end', () => {
    expect(readRoundLink(KEY, token, now)).toEqual(link)
    expect(readRoundLink(KEY, token, link.expiresAt)).toBeNull()
  })
  it('refuses another key, every changed byte, and cut or odd text', () => {
    expect(readRoundLink('x'.repeat(32), token, now)).toBeNull()
    const bytes = Buffer.from(token, 'base64url')
    for (let at = 0; at < bytes.length; at++) {
      const forged = Buffer.from(bytes)
      forged[at] = (forged[at] ?? 0) ^ 1
      expect(readRoundLink(KEY, forged.toString('base64url'), now)).toBeNull()
    }
    for (const odd of ['', token.slice(1), `${token}A`, `${token}=`, 'ü', '../x']) expect(readRoundLink(KEY, odd, now)).toBeNull()
  })
  it('stands after # in its address', () => {
    expect(roundLinkUrl('https://tapewarden.example/', token)).toBe(`https://tapewarden.example/hand.html#round=${token}`)
  })
})
