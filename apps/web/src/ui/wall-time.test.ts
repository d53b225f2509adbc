import { describe, expect, it } from '@jest/globals'
import { instantOf, instantsOf, wallOf } from './wall-time.js'

describe('wall time', () => {
  // Berlin: +1 in winter, +2 in summer; forward on 29 March 2026 at 02:00, back on 25 October 2026 at 03:00.
  it.each([
    ['2026-12-04T17:00', 'Europe/Berlin', '2026-12-04T16:00:00.000Z'],
    ['2026-07-01T08:30', 'Europe/Berlin', '2026-07-01T06:30:00.000Z'],
    ['2026-10-25T02:30', 'Europe/Berlin', '2026-10-25T00:30:00.000Z'],
    ['2026-03-29T02:30', 'Europe/Berlin', '2026-03-29T01:30:00.000Z'],
    ['2026-03-29T03:30', 'Europe/Berlin', '2026-03-29T01:30:00.000Z'],
    ['2026-07-01T10:15', 'Australia/Lord_Howe', '2026-06-30T23:45:00.000Z'],
    ['2026-01-01T00:00', 'Asia/Kathmandu', '2025-12-31T18:15:00.000Z'],
  ])('%s in %s is %s', (wall, zone, instant) => expect(instantOf(wall, zone)).toBe(instant))

  it('is none where the clocks skip it, and two where it comes twice', () => {
    const berlin = (wall: string) => instantsOf(wall, 'Europe/Berlin')
    expect(berlin('2026-07-01T08:30')).toEqual(['2026-07-01T06:30:00.000Z'])
    expect(berlin('2026-03-29T02:30')).toEqual([])
    expect(berlin('2026-10-25T02:30')).toEqual(['2026-10-25T00:30:00.000Z', '2026-10-25T01:30:00.000Z'])
    // Lord Howe sets its clocks by half an hour.
    expect(instantsOf('2026-04-05T01:45', 'Australia/Lord_Howe')).toEqual(['2026-04-04T14:45:00.000Z', '2026-04-04T15:15:00.000Z'])
    expect(berlin('soon')).toEqual([])
  })

  it('comes back the same, hour by hour through a year with two changes', () => {
    for (const zone of ['Europe/Berlin', 'America/Chicago', 'Australia/Lord_Howe'])
      for (let hour = 0; hour < 8760; hour += 1) {
        const instant = new Date(Date.UTC(2026, 0, 1, hour)).toISOString()
        const back = instantOf(wallOf(instant, zone), zone) ?? ''
        // In an hour that comes twice it is the first of them, at most an hour before.
        const apart = Date.parse(instant) - Date.parse(back)
        if (apart !== 0) expect([wallOf(back, zone), apart > 0 && apart <= 3_600_000]).toEqual([wallOf(instant, zone), true])
      }
  })

  it('gives null for what is no time', () => expect(instantOf('soon', 'UTC')).toBeNull())
})
