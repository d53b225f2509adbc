import { describe, expect, it } from '@jest/globals'
import { Temporal } from 'temporal-polyfill'
import { dateOf } from './day.js'
import { instantToDay, instantToLocal, instantToMinute, isKnownZone, localToInstant, UnknownZone } from './instant.js'

const utc = (zone: string, local: string): string => new Date(localToInstant(zone, local)).toISOString()

describe('wall time', () => {
  it('that occurs twice is the first (RFC 5545, 3.3.5, its own example of New York, 4 November 2007)', () => {
    expect(utc('America/New_York', '2007-11-04T01:30')).toBe('2007-11-04T05:30:00.000Z')
  })

  it('that does not exist is read with the offset before the gap (RFC 5545, 3.3.5, New York, 11 March 2007)', () => {
    expect(utc('America/New_York', '2007-03-11T02:30')).toBe('2007-03-11T07:30:00.000Z')
  })

  it('of an ordinary hour is what clocks show', () => {
    const instant = localToInstant('Australia/Lord_Howe', '2026-01-10T09:15')
    expect(instantToLocal('Australia/Lord_Howe', instant)).toBe('2026-01-10T09:15:00')
    expect(instantToMinute('Australia/Lord_Howe', instant)).toBe(555)
    expect(dateOf(instantToDay('Australia/Lord_Howe', instant))).toBe('2026-01-10')
  })

  // Double summer time, seconds in the offset, a day left out, half an hour of summer time, changes at a minute past midnight.
  it.each([
    ['Europe/London', '1941-01-01', '1948-01-01'],
    ['Europe/Amsterdam', '1930-01-01', '1941-01-01'],
    ['Pacific/Apia', '2011-01-01', '2013-01-01'],
    ['Australia/Lord_Howe', '2025-01-01', '2028-01-01'],
    ['America/St_Johns', '1987-01-01', '1990-01-01'],
    ['Africa/Casablanca', '2024-01-01', '2029-01-01'],
    ['Asia/Kathmandu', '1985-06-01', '1986-06-01'],
  ])('of %s from %s to %s is what Temporal says, every 397 minutes', (zone, from, to) => {
    const wrong: string[] = []
    for (let at = Date.parse(from); at < Date.parse(to); at += 397 * 60_000) {
      const shown = Temporal.Instant.fromEpochMilliseconds(at)
        .toZonedDateTimeISO(zone)
        .toPlainDateTime()
        .toString({ smallestUnit: 'second' })
      if (instantToLocal(zone, at) !== shown) wrong.push(`${new Date(at).toISOString()}: ${instantToLocal(zone, at)}, not ${shown}`)
    }
    expect(wrong).toEqual([])
  })

  it('is the same with milliseconds, and refuses what is no instant', () => {
    expect(instantToLocal('Europe/Berlin', Date.parse('2026-06-01T10:00:59.999Z'))).toBe('2026-06-01T12:00:59')
    expect(instantToLocal('Europe/Berlin', Date.parse('0050-06-01T10:00:00Z')).slice(0, 10)).toBe('0050-06-01')
    expect(() => instantToLocal('Europe/Berlin', Number.NaN)).toThrow(RangeError)
    expect(() => instantToLocal('Mars/Olympus', 0)).toThrow(UnknownZone)
  })

  it('needs a zone with a name', () => {
    for (const zone of ['', '+02:00', 'Mars/Olympus', 'Europe/Berlin; DROP', 'UTC+25']) {
      expect(isKnownZone(zone)).toBe(false)
      expect(() => localToInstant(zone, '2026-01-01T00:00')).toThrow(UnknownZone)
    }
    expect(isKnownZone('Europe/Berlin')).toBe(true)
  })
})
