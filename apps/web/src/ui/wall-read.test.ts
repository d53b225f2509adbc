import { describe, expect, it } from '@jest/globals'
import { notBefore, readWall } from './wall-read.js'

const form = (typed: Record<string, string>) => ({ get: (name: string) => typed[name] ?? null })
const read = (wall: string, shown: string | null, which?: string) =>
  readWall(form({ at: wall, ...(which === undefined ? {} : { 'at-which': which }) }), 'at', 'Europe/Berlin', shown)

describe('a moment typed', () => {
  it('is none where the field is empty or not there', () => {
    expect(read('', '2026-07-01T06:30:00.000Z')).toBeNull()
    expect(readWall(form({}), 'at', 'UTC', null)).toBeNull()
  })

  it('keeps the seconds of what was there, where nothing was typed', () => {
    expect(read('2026-07-01T08:30', '2026-07-01T06:30:42.123Z')).toBe('2026-07-01T06:30:42.123Z')
    expect(read('2026-07-01T08:31', '2026-07-01T06:30:42.123Z')).toBe('2026-07-01T06:31:00.000Z')
  })

  it('is the one that was chosen in the hour that comes twice', () => {
    expect([read('2026-10-25T02:30', null), read('2026-10-25T02:30', null, '1')]).toEqual([
      '2026-10-25T00:30:00.000Z',
      '2026-10-25T01:30:00.000Z',
    ])
    const second = '2026-10-25T01:30:07.000Z'
    expect([read('2026-10-25T02:30', second, '1'), read('2026-10-25T02:30', second, '0')]).toEqual([second, '2026-10-25T00:30:00.000Z'])
  })

  it('lies at the moment before it where both are of one minute', () => {
    const before = '2026-07-01T06:30:42.000Z'
    expect(notBefore('2026-07-01T06:30:00.000Z', before)).toBe(before)
    expect(notBefore('2026-07-01T06:29:00.000Z', before)).toBe('2026-07-01T06:29:00.000Z')
    expect(notBefore('2026-07-01T06:31:00.000Z', before)).toBe('2026-07-01T06:31:00.000Z')
    expect(notBefore('2026-07-01T06:31:00.000Z', null)).toBe('2026-07-01T06:31:00.000Z')
  })
})
