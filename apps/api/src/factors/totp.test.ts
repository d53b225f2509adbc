import { describe, expect, it } from '@jest/globals'
import { newTotpSecret, stepOfCode, totpAt, totpUri } from './totp.js'

/** RFC 6238, Appendix B: the ASCII text 12345678901234567890, here in base32. */
const SECRET = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ'

describe('one-time codes', () => {
  // RFC 6238, Appendix B, column SHA1, which has 8 digits; 6 digits are the last 6 of them (RFC 4226, 5.3: the number modulo 10^6).
  it.each([
    [59, '94287082', 1],
    [1111111109, '07081804', 0x23523ec],
    [1111111111, '14050471', 0x23523ed],
    [1234567890, '89005924', 0x273ef07],
    [2000000000, '69279037', 0x3f940aa],
    [20000000000, '65353130', 0x27bc86aa],
  ])('RFC 6238, Appendix B: at %d s the code ends %s', (seconds, eightDigits, step) => {
    const code = eightDigits.slice(-6)
    expect(totpAt(SECRET, seconds * 1000)).toBe(code)
    expect(stepOfCode(SECRET, code, seconds * 1000)).toBe(step)
  })

  it('count a step before and after their own, and no further', () => {
    const at = 1_800_000_000_000
    const [code, step] = [totpAt(SECRET, at), at / 30_000]
    for (const off of [-1, 0, 1]) expect(stepOfCode(SECRET, code, at + off * 30_000)).toBe(step)
    for (const off of [-2, 2, 10]) expect(stepOfCode(SECRET, code, at + off * 30_000)).toBeNull()
  })

  it('have a secret of 160 bits, never the same, and an address that programs read', () => {
    const [one, two] = [newTotpSecret(), newTotpSecret()]
    expect(one).toMatch(/^[A-Z2-7]{32}$/)
    expect(one).not.toBe(two)
    const uri = new URL(totpUri(one, 'mara@north.example', 'Tapewarden North'))
    expect(uri.href).toMatch(/^otpauth:\/\/totp\/Tapewarden%20North:mara%40north\.example\?/)
    expect(Object.fromEntries(uri.searchParams)).toMatchObject({ secret: one, issuer: 'Tapewarden North', digits: '6', period: '30' })
  })
})
