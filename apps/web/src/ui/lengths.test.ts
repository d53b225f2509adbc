import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { lengthInMm, parseLength, sayLimit, shownLength, typedLength } from './lengths.js'

describe('lengths as they are typed', () => {
  it('are read with point, comma and as fractions of an inch', () => {
    expect(parseLength('9.5')).toBe(9.5)
    expect(parseLength(' 9,5 ')).toBe(9.5)
    expect(parseLength('3/8')).toBe(0.375)
    expect(parseLength('1 3/16')).toBe(1.1875)
    expect(parseLength('0')).toBe(0)
  })

  it('are refused where they are none', () => {
    for (const text of ['', ' ', '-1', '1/0', '9.', '.5', '1e3', 'nine', '9 mm', '3//8', '0x10']) expect(parseLength(text)).toBeNull()
  })

  it('stay what was typed for every 64th of an inch (1 in = 25.4 mm, 1959)', () => {
    for (let count = 0; count <= 128; count++) {
      expect(parseLength(`${count}/64`)).toBe(count / 64)
      // To the last digit: count / 64 × 254 is a whole number of 32nds.
      expect(lengthInMm(count / 64, 'in')).toBe((count * 127) / 320)
    }
    expect(lengthInMm(0.25, 'in')).toBeCloseTo(6.35, 12)
  })

  it('come back from their own text', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1_000_000 }), (hundredths) => parseLength((hundredths / 100).toFixed(2)) === hundredths / 100),
    )
  })

  it('stay what they were where a field was not touched, whatever it could show of them', () => {
    const lengths = fc.oneof(
      fc.double({ min: 0.1, max: 3000, noNaN: true }),
      fc.integer({ min: 1, max: 128 }).map((count) => (count * 127) / 320),
    )
    fc.assert(
      fc.property(
        lengths,
        fc.constantFrom('mm' as const, 'in' as const),
        (mm, unit) => typedLength(` ${shownLength(mm, unit)} `, mm, unit) === mm,
      ),
    )
    expect([typedLength('', 9.5, 'in'), typedLength('3/8', 9.5, 'in'), typedLength('9,5', null, 'mm')]).toEqual([null, 9.525, 9.5])
    expect([shownLength(9.525, 'in'), shownLength(6.4, 'in'), shownLength(6.4, 'mm'), shownLength(null, 'in')]).toEqual([
      '0.375',
      '0.252',
      '6.4',
      '',
    ])
  })

  it('show limits in the reader’s unit', () => {
    expect(sayLimit(9.5, 'mm')).toBe('9.5 mm')
    expect(sayLimit(9.525, 'in')).toBe('0.375 in')
    expect(sayLimit(6.35, 'in')).toBe('0.250 in')
  })
})
