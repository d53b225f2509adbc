import { describe, expect, it } from '@jest/globals'
import { seal, unseal } from './sealed.js'

const KEY = 'a key for tests only, 32 characters and more'

describe('what is sealed', () => {
  const sealed = seal(KEY, 'codes', 'a person', 'JBSWY3DPEHPK3PXP')
  it('opens with its key, purpose and place alone', () => {
    expect(unseal(KEY, 'codes', 'a person', sealed)).toBe('JBSWY3DPEHPK3PXP')
    expect(unseal(`${KEY}x`, 'codes', 'a person', sealed)).toBeNull()
    expect(unseal(KEY, 'webhooks', 'a person', sealed)).toBeNull()
    expect(unseal(KEY, 'codes', 'another person', sealed)).toBeNull()
  })
  it('opens no more once a single bit was changed or a byte was cut off', () => {
    for (let at = 0; at < sealed.length; at++) {
      const changed = Buffer.from(sealed)
      changed[at] = (changed[at] as number) ^ 1
      expect(unseal(KEY, 'codes', 'a person', changed)).toBeNull()
      expect(unseal(KEY, 'codes', 'a person', sealed.subarray(0, at))).toBeNull()
    }
  })
  it('never looks the same twice, and holds nothing readable', () => {
    expect(seal(KEY, 'codes', 'a person', 'JBSWY3DPEHPK3PXP').equals(sealed)).toBe(false)
    expect(sealed.toString('latin1')).not.toContain('JBSWY')
  })
})
