import { describe, expect, it } from '@jest/globals'
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

  it('needs a zone with a name', () => {
    for (const zone of ['', '+02:00', 'Mars/Olympus', 'Europe/Berlin; DROP', 'UTC+25']) {
      expect(isKnownZone(zone)).toBe(false)
      expect(() => localToInstant(zone, '2026-01-01T00:00')).toThrow(UnknownZone)
    }
    expect(isKnownZone('Europe/Berlin')).toBe(true)
  })
})
