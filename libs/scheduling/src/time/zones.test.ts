import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import { elapsedHours, readLocalTime, zoneTransitions } from './zones.js'

describe('zones', () => {
  it('RFC 5545, 3.3.5, New York 2007: 4 November 01:30 is the first, 11 March 02:30 is read with the offset before', () => {
    expect(readLocalTime('America/New_York', '2007-11-04T01:30')).toEqual({
      utc: '2007-11-04T05:30:00Z',
      shownLocal: '2007-11-04T01:30',
      kind: 'overlap',
    })
    expect(readLocalTime('America/New_York', '2007-03-11T02:30')).toEqual({
      utc: '2007-03-11T07:30:00Z',
      shownLocal: '2007-03-11T03:30',
      kind: 'gap',
    })
  })

  it('IANA time zone database: Berlin changes on 29 March and 25 October 2026 at 01:00 UTC', () => {
    expect(zoneTransitions('Europe/Berlin', '2026-01-01T00:00:00Z', '2027-01-01T00:00:00Z').map(({ utc }) => utc)).toEqual([
      '2026-03-29T01:00:00Z',
      '2026-10-25T01:00:00Z',
    ])
    expect(elapsedHours('Europe/Berlin', '2026-03-28T08:00', '2026-03-29T08:00')).toBe(23)
    expect(elapsedHours('Europe/Berlin', '2026-10-24T08:00', '2026-10-25T08:00')).toBe(25)
  })

  it('elapsed hours add up over any day in between', () => {
    const day = fc.integer({ min: 1, max: 28 }).map((date) => `2026-10-${String(date).padStart(2, '0')}T12:00`)
    fc.assert(
      fc.property(day, (middle) => {
        const [from, to] = ['2026-09-30T12:00', '2026-11-01T12:00']
        expect(elapsedHours('Europe/Berlin', from, middle) + elapsedHours('Europe/Berlin', middle, to)).toBe(
          elapsedHours('Europe/Berlin', from, to),
        )
      }),
    )
  })

  it('refuses what is no zone, no time, or backwards, naming the field', () => {
    expect(() => readLocalTime('Mars/Olympus', '2026-01-01T00:00')).toThrow('zone')
    expect(() => readLocalTime('Europe/Berlin', 'noon')).toThrow('local')
    expect(() => readLocalTime('Europe/Berlin', '2026-02-30T00:00')).toThrow('local')
    expect(() => readLocalTime('Europe/Berlin', '2026-01-01')).toThrow('local')
    expect(() => readLocalTime('Europe/Berlin', '2026-01-01T00:00+05:00')).toThrow('local')
    expect(() => elapsedHours('Europe/Berlin', '2026-01-02T00:00', '2026-01-01T00:00')).toThrow('to')
    expect(() => zoneTransitions('Europe/Berlin', 'never', '2026-01-01T00:00:00Z')).toThrow('from')
    for (const from of ['5', '2026-02-30', '2026-01-01T00:00', '2026-02-30T00:00:00Z'])
      expect(() => zoneTransitions('Europe/Berlin', from, '2027-01-01T00:00:00Z')).toThrow('from must be an instant')
    expect(zoneTransitions('Europe/Berlin', '2026-01-01', '2027-01-01')).toHaveLength(2)
    expect(zoneTransitions('Europe/Berlin', '2026-03-29T03:00+02:00', '2026-03-29T03:00:01+02:00')).toHaveLength(1)
  })
})
