import { describe, expect, it } from '@jest/globals'
import { SeenKeys } from './seen-keys.js'

describe('keys of a file', () => {
  it('tells the line in which a key stood first, however many come between', () => {
    const seen = new SeenKeys()
    const key = (at: number): string => `l${at % 500}\u001fstrips_day\u001f2026-01-${at}\u001f`
    const before = Array.from({ length: 60_000 }, (_, at) => seen.firstLine(key(at), at + 2)).filter((line) => line !== null)
    expect(before).toEqual([])
    for (const at of [0, 1, 4095, 59_999]) expect(seen.firstLine(key(at), 70_000)).toBe(at + 2)
    expect(seen.firstLine('', 3)).toBeNull()
    expect(seen.firstLine('', 4)).toBe(3)
  })

  it('keeps keys apart that differ in one sign, in order or in length', () => {
    const seen = new SeenKeys()
    const keys = ['a', 'b', 'ab', 'ba', 'aa', 'aab', '\u0000', '\u0000\u0000', 'ä', 'a\u0308', '\u{1f600}']
    keys.forEach((key, at) => expect([key, seen.firstLine(key, at + 1)]).toEqual([key, null]))
    keys.forEach((key, at) => expect(seen.firstLine(key, 99)).toBe(at + 1))
  })
})
