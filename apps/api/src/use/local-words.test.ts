import { describe, expect, it } from '@jest/globals'
import { sayLocalDay, sayLocalMoment } from './local-words.js'

describe('a moment in the words of the warehouse', () => {
  // Berlin is an hour ahead in December; Auckland thirteen, so that it is the next day there; Lord Howe by half an hour in winter.
  it.each([
    ['2026-12-04T16:00:24.050Z', 'Europe/Berlin', '4 Dec 2026, 17:00'],
    ['2026-12-04T16:00:24.050Z', 'America/Chicago', '4 Dec 2026, 10:00'],
    ['2026-12-04T16:00:24.050Z', 'Pacific/Auckland', '5 Dec 2026, 05:00'],
    ['2026-06-30T23:45:00Z', 'Australia/Lord_Howe', '1 Jul 2026, 10:15'],
    ['2026-01-01T00:00:00Z', 'UTC', '1 Jan 2026, 00:00'],
  ])('%s in %s is %s', (at, zone, words) => expect(sayLocalMoment(new Date(at), zone)).toBe(words))

  // On 25 October 2026 the clocks of Berlin go from 03:00 back to 02:00: 00:30 and 01:30 UTC are both half past two.
  it('tells the two hours of a night that has one twice apart', () => {
    expect(sayLocalMoment(new Date('2026-10-25T00:30:00Z'), 'Europe/Berlin')).toBe('25 Oct 2026, 02:30 (UTC+02:00)')
    expect(sayLocalMoment(new Date('2026-10-25T01:30:00Z'), 'Europe/Berlin')).toBe('25 Oct 2026, 02:30 (UTC+01:00)')
  })

  it('says a day', () => expect(sayLocalDay('2026-03-09')).toBe('9 Mar 2026'))
})
