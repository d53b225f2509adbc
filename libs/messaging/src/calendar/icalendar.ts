/**
 * RFC 5545 text of whole-day events. Our own forty lines, because the common generator folds sign by sign at
 * 0.8 ms an event: a second of computing for the digest of a large hall, more than everything else of a mail.
 */
export interface WholeDayEvent {
  uid: string
  /** Never falls (RFC 5545, 3.8.7.4). */
  sequence: number
  stamp: Date
  /** Local date 'YYYY-MM-DD'. */
  on: string
  summary: string
  description: string
  location: string | null
  cancelled?: boolean
  /** When its day or state last changed. */
  changed?: Date | null
}

export interface CalendarHead {
  name: string
  language: string
  /** RFC 7986, 5.2: what the calendar is; for a feed. */
  description?: string
  /** RFC 7986, 5.7: the least time between two readings, such as 'PT4H'; for a feed. */
  refresh?: string
}

const MOST_OCTETS = 75
// Most texts have none of them: one look instead of three passes.
const TO_ESCAPE = /[\\;,\p{Cc}]/u

/** 3.3.11: backslash, semicolon, comma and line ends; other control characters may not stand in a text at all. */
export function escapeText(text: string): string {
  if (!TO_ESCAPE.test(text)) return text
  return text
    .replace(/[\\;,]/g, '\\$&')
    .replace(/\r\n|\r|\n/g, '\\n')
    .replace(/(?!\t)\p{Cc}/gu, '')
}

/** 3.1: at most 75 octets a line, cut between characters, further lines begin with a space. */
export function foldLine(line: string): string {
  if (line.length <= MOST_OCTETS / 3 || Buffer.byteLength(line) <= MOST_OCTETS) return line
  let folded = ''
  let octets = 0
  for (const sign of line) {
    const code = sign.codePointAt(0) as number
    const length = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4
    if (octets + length > MOST_OCTETS) {
      folded += '\r\n '
      octets = 1
    }
    folded += sign
    octets += length
  }
  return folded
}

function basicDate(day: string): string {
  return day.replaceAll('-', '')
}

function dayAfter(day: string): string {
  return new Date(Date.parse(`${day}T00:00:00Z`) + 86_400_000).toISOString().slice(0, 10)
}

function basicInstant(instant: Date): string {
  const said = instant.toISOString()
  return `${basicDate(said.slice(0, -14))}T${said.slice(-13, -11)}${said.slice(-10, -8)}${said.slice(-7, -5)}Z`
}

function eventLines(event: WholeDayEvent): string[] {
  return [
    'BEGIN:VEVENT',
    `UID:${escapeText(event.uid)}`,
    `SEQUENCE:${event.sequence}`,
    `DTSTAMP:${basicInstant(event.stamp)}`,
    ...(event.changed ? [`LAST-MODIFIED:${basicInstant(event.changed)}`] : []),
    `DTSTART;VALUE=DATE:${basicDate(event.on)}`,
    `DTEND;VALUE=DATE:${basicDate(dayAfter(event.on))}`,
    `SUMMARY:${escapeText(event.summary)}`,
    `DESCRIPTION:${escapeText(event.description)}`,
    ...(event.location === null ? [] : [`LOCATION:${escapeText(event.location)}`]),
    `STATUS:${event.cancelled ? 'CANCELLED' : 'CONFIRMED'}`,
    'TRANSP:TRANSPARENT',
    'END:VEVENT',
  ]
}

/** A calendar to be read, not answered (METHOD:PUBLISH). O(n) in the length of its texts. */
export function writeCalendar({ name, language, description, refresh }: CalendarHead, events: readonly WholeDayEvent[]): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    `PRODID:-//Tapewarden//care//${language.toUpperCase()}`,
    'CALSCALE:GREGORIAN',
    'METHOD:PUBLISH',
    // RFC 7986, 5.1, and the older name of the same.
    `NAME:${escapeText(name)}`,
    `X-WR-CALNAME:${escapeText(name)}`,
    ...(description === undefined ? [] : [`DESCRIPTION:${escapeText(description)}`, `X-WR-CALDESC:${escapeText(description)}`]),
    ...(refresh === undefined ? [] : [`REFRESH-INTERVAL;VALUE=DURATION:${refresh}`, `X-PUBLISHED-TTL:${refresh}`]),
    ...events.flatMap(eventLines),
    'END:VCALENDAR',
  ]
  return `${lines.map(foldLine).join('\r\n')}\r\n`
}
