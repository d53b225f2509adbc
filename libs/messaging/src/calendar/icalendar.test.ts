import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import ICAL from 'ical.js'
import nodeIcal from 'node-ical'
import { escapeText, foldLine, type WholeDayEvent, writeCalendar } from './icalendar.js'

const event = (more: Partial<WholeDayEvent> = {}): WholeDayEvent => ({
  uid: 'occurrence-1@tapewarden',
  sequence: 3,
  stamp: new Date('2026-05-05T06:00:00Z'),
  on: '2026-12-31',
  summary: 'DN-014: Replace both motor brushes',
  description: 'Due on 31 December.',
  location: 'Hall North, A03',
  ...more,
})
/** Text as a person could type it anywhere, without what no text value may hold. */
const anyText = fc
  .string({ unit: 'grapheme', minLength: 1, maxLength: 200 })
  .map((text) => text.replace(/(?![\n])\p{Cc}/gu, '').trim())
  .filter((text) => text.length > 0)

describe('the calendar writer', () => {
  it('escapes what RFC 5545, 3.3.11 says', () => {
    expect(escapeText('a;b,c\\d\r\ne\nf\u0007')).toBe('a\\;b\\,c\\\\d\\ne\\nf')
  })

  it('folds by octets and never inside a character (3.1)', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: 'grapheme', maxLength: 400 }).map((text) => text.replace(/[\r\n]/g, '')),
        (text) => {
          const lines = foldLine(text).split('\r\n')
          for (const line of lines) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75)
          expect(lines.map((line, index) => (index === 0 ? line : line.slice(1))).join('')).toBe(text)
          expect(Buffer.from(lines.join('')).toString()).toBe(lines.join(''))
        },
      ),
    )
  })

  it('is read as it was meant by two parsers that are not ours, whatever the names', () => {
    fc.assert(
      fc.property(anyText, anyText, anyText, (summary, description, location) => {
        const text = writeCalendar({ name: summary, language: 'de' }, [event({ summary, description, location })])
        const read = new ICAL.Event(new ICAL.Component(ICAL.parse(text)).getFirstSubcomponent('vevent')!)
        expect([read.uid, read.sequence, read.summary, read.description, read.location]).toEqual([
          'occurrence-1@tapewarden',
          3,
          summary,
          description,
          location,
        ])
        expect([read.startDate.toString(), read.endDate.toString()]).toEqual(['2026-12-31', '2027-01-01'])
        const others = Object.values(nodeIcal.sync.parseICS(text) as unknown as Record<string, { type: string; summary: string }>)
        expect(others.filter(({ type }) => type === 'VEVENT')).toHaveLength(1)
      }),
      { numRuns: 300 },
    )
  })

  it('shows a cancelled item as cancelled', () => {
    expect(writeCalendar({ name: 'x', language: 'en' }, [event({ cancelled: true })])).toContain('\r\nSTATUS:CANCELLED\r\n')
  })
})
