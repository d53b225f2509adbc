import { describe, expect, it } from '@jest/globals'
import { newId } from '@tapewarden/platform'
import ICAL from 'ical.js'
import nodeIcal from 'node-ical'
import type { CareLine, MailInput } from './model.js'
import { renderMail } from './render.js'

const line = (more: Partial<CareLine> = {}): CareLine => ({
  occurrenceId: newId(),
  version: 1,
  stage: 'due',
  machineId: newId(),
  labelCode: 'DN-014',
  stationName: 'A03',
  walkingOrder: 30,
  taskName: 'Replace both motor brushes',
  minutes: 20,
  safetyCheck: false,
  nominalOn: '2026-05-12',
  dueOn: '2026-05-12',
  lateFrom: null,
  hardLimitOn: '2026-08-24',
  doBy: null,
  earlyOn: '2026-05-07',
  lateOn: '2026-05-26',
  forName: null,
  ...more,
})

const input = (more: Partial<MailInput> = {}): MailInput => ({
  kind: 'digest',
  person: { name: 'Mara Lind', language: 'en', units: 'si' },
  warehouse: { id: newId(), name: 'Hall North' },
  today: '2026-05-05',
  now: new Date('2026-05-05T06:00:00Z'),
  care: [],
  maybeSaid: [],
  parts: [],
  handOver: null,
  round: null,
  deskUrl: 'https://care.example/',
  unsubscribeUrl: 'https://care.example/api/v1/unsubscribe/abc',
  ...more,
})

/** Without the wraps, as one would read it. */
const flat = (text: string): string => text.replace(/\s+/g, ' ')

describe('a digest', () => {
  it('names no early day that has passed', () => {
    const text = flat(renderMail(input({ care: [line({ earlyOn: '2026-04-20' })] })).text)
    expect(text).toContain('Likely due on 12 May, possibly any day until 26 May.')
  })

  it('begins with a sentence of numbers, and says likely, early and late', () => {
    const late = line({ stage: 'late', dueOn: '2026-04-28', lateFrom: '2026-05-05', labelCode: 'DN-002' })
    const mail = renderMail(
      input({
        care: [line(), late, line({ stage: 'coming_due' })],
        parts: [{ name: 'Brush set', stockCode: 'B-1', quantity: 2, orderBy: '2026-05-09' }],
      }),
    )
    expect(mail.subject).toBe('Hall North, Tuesday 5 May: 1 job late, 1 job due, 1 job coming due')
    const text = flat(mail.text)
    expect(text).toContain('Hall North, Tuesday 5 May: 1 job late, 1 job due, 1 job coming due and 1 part to order by 9 May.')
    expect(text).toContain('A03, DN-014: Replace both motor brushes. Likely due on 12 May, between 7 May and 26 May.')
    expect(text).toContain(
      'A03, DN-002: Replace both motor brushes. Late since 5 May; it was due on 28 April. To be done by 24 August at the latest.',
    )
    expect(text).toContain('2 × Brush set (B-1), to be ordered by 9 May.')
  })

  it('says an occurrence once, under its gravest stage, whoever it is said for', () => {
    const one = line()
    const mail = renderMail(
      input({ care: [one, { ...one, stage: 'passed_on_1', lateFrom: '2026-05-01', forName: 'Tom' }, { ...one, stage: 'coming_due' }] }),
    )
    expect(mail.text.match(/Replace both motor brushes/g)).toHaveLength(1)
    expect(mail.subject).toContain('1 job passed on to you')
    expect(flat(mail.text)).toContain('For Tom, who is away.')
  })

  it('holds the month’s round in walking order, one line a machine, and one link', () => {
    const machine = (label: string, order: number, tasks: string[]) => {
      const machineId = newId()
      return tasks.map((taskName) =>
        line({ stage: 'month_list', machineId, labelCode: label, stationName: label, walkingOrder: order, taskName, minutes: 5 }),
      )
    }
    const usual = ['Oil the blade felt', 'Rinse the tank']
    const care = [...machine('B01', 20, usual), ...machine('A02', 11, ['Oil the blade felt']), ...machine('A10', 12, usual)]
    const mail = renderMail(
      input({ care, round: { url: 'https://care.example/hand.html#round=x', month: '2026-05', endsOn: '2026-05-31' } }),
    )
    const text = flat(mail.text)
    expect(text).toContain('At each, unless something else stands there: Oil the blade felt; Rinse the tank (10 minutes).')
    expect(text).toContain('- A02, A02: Oil the blade felt (5 minutes) - A10, A10 - B01, B01')
    expect(mail.text.match(/#round=/g)).toHaveLength(1)
    expect(text).toContain('Open the round of May 2026: https://care.example/hand.html#round=x')
    expect(text).toContain('Nothing is ticked beforehand; the answers are written in your name, Mara Lind.')
    expect(mail.calendarFile).toBeNull()
  })

  it('says what is left in the last week in one line', () => {
    const care = ['a', 'b'].map((label) => line({ stage: 'month_last_week', labelCode: label }))
    const mail = renderMail(input({ care }))
    expect(mail.text).toContain('2 machines of this month’s round are still open.')
    expect(mail.text).not.toContain('DN-')
  })

  it('puts the safety line to a check whose nominal day has passed, and to an unsafe finding, and to nothing else', () => {
    const says = (more: Partial<CareLine>) => flat(renderMail(input({ care: [line(more)] })).text).includes('Do not use until checked')
    expect(says({ safetyCheck: true, nominalOn: '2026-05-04' })).toBe(true)
    expect(says({ safetyCheck: true, nominalOn: '2026-05-05' })).toBe(false)
    expect(says({ nominalOn: '2026-05-04' })).toBe(false)
    expect(says({ stage: 'safety_finding' })).toBe(true)
  })

  it('says what may have been had already, with its reason, and not what is said anew', () => {
    const again = line()
    const mail = renderMail(input({ care: [again], maybeSaid: [again, line({ labelCode: 'DN-077' })] }))
    expect(mail.text.match(/DN-014/g)).toHaveLength(1)
    expect(flat(mail.text)).toContain('You may have had this already')
    expect(mail.text).toContain('DN-077')
    expect(mail.subject).toContain('1 line you may have had already')
  })

  it('never says safe, OK, healthy or cleared', () => {
    const stages = ['coming_due', 'due', 'late', 'passed_on_1', 'past_hard_limit', 'earlier_than_said', 'first_look_missed'] as const
    const mail = renderMail(input({ care: stages.map((stage) => line({ stage, lateFrom: '2026-05-01' })) }))
    expect(mail.text).not.toMatch(/\b(safe|OK|healthy|cleared)\b/)
  })

  it('is in German for a German reader, safety line aside', () => {
    const mail = renderMail(
      input({
        person: { name: 'Jörg', language: 'de', units: 'si' },
        care: [line({ safetyCheck: true, nominalOn: '2026-05-01', stage: 'late', lateFrom: '2026-05-02' }), line(), line()],
      }),
    )
    expect(mail.subject).toBe('Hall North, Dienstag, 5. Mai: 1 Arbeit überfällig, 2 Arbeiten fällig')
    expect(flat(mail.text)).toContain('Wahrscheinlich fällig am 12. Mai, zwischen dem 7. Mai und dem 26. Mai.')
    const missed = renderMail(
      input({ person: { name: 'Jörg', language: 'de', units: 'si' }, care: [line({ stage: 'first_look_missed' })] }),
    )
    expect(flat(missed.text)).toContain('Die erste Durchsicht, geplant für den 12. Mai, wurde versäumt.')
    expect(mail.html).toContain('<strong lang="en">Do not use until checked')
    expect(mail.html).toContain('<html lang="de">')
  })

  it('names the last day on which urgent care may be done, where a peak or a closure stands before its limit', () => {
    const care = [line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-06' }), line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-08' })]
    const mail = renderMail(input({ kind: 'hard_limit', care }))
    expect(mail.subject).toBe('Hall North: must be done by 6 May, 2 jobs')
    expect(flat(mail.text)).toContain('2 jobs can be done until 6 May and not after it.')
    expect(flat(mail.text)).toContain('To be done by 8 May: it is the last day on which this may be done before its limit, 24 August.')
    const german = renderMail(input({ kind: 'hard_limit', care: care.slice(0, 1), person: { name: 'Jörg', language: 'de', units: 'si' } }))
    expect(flat(german.text)).toContain('Bis zum 6. Mai zu erledigen')
  })

  it('calls nothing late before it is', () => {
    const care = [
      line({ stage: 'hard_limit_tomorrow', dueOn: '2026-05-05', lateFrom: '2026-05-06', hardLimitOn: '2026-05-06' }),
      line({ stage: 'hard_limit_tomorrow', labelCode: 'DN-015', dueOn: '2026-05-02', lateFrom: '2026-05-06', hardLimitOn: '2026-05-06' }),
    ]
    const text = flat(renderMail(input({ kind: 'hard_limit', care })).text)
    expect(text).toContain('DN-014: Replace both motor brushes. Due on 5 May. To be done by 6 May at the latest.')
    expect(text).toContain('DN-015: Replace both motor brushes. It was due on 2 May. To be done by 6 May at the latest.')
    expect(text).not.toContain('Late since')
  })

  it('says where a peak leaves no day before the limit any more', () => {
    const care = [line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-04' }), line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-06' })]
    const none = renderMail(input({ kind: 'hard_limit', care: care.slice(0, 1) }))
    expect(none.subject).toBe('Hall North: no day left before the limit, 24 August, 1 job')
    expect(flat(none.text)).toContain('for 1 job no day is left on which it may be done before its limit.')
    expect(flat(none.text)).toContain('before its limit, 24 August: decide whether it is done all the same.')
    expect(none.text).not.toContain('4 May')
    const both = renderMail(input({ kind: 'hard_limit', care }))
    expect(both.subject).toBe('Hall North: must be done by 6 May, 2 jobs')
    expect(flat(both.text)).toContain('1 job can be done until 6 May and not after it.')
    // The limit of the one is sooner than the last day of the other.
    const sooner = line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-04', hardLimitOn: '2026-05-06' })
    const later = renderMail(input({ kind: 'hard_limit', care: [sooner, line({ stage: 'hard_limit_tomorrow', doBy: '2026-05-08' })] }))
    expect(later.subject).toBe('Hall North: must be done by 8 May, 2 jobs')
    expect(flat(later.text)).toContain('1 job can be done until 8 May and not after it.')
    const german = renderMail(input({ kind: 'hard_limit', care: care.slice(0, 1), person: { name: 'Jörg', language: 'de', units: 'si' } }))
    expect(german.subject).toContain('kein Tag mehr vor Ablauf der Frist')
  })

  it('sends urgent mail under its cause', () => {
    expect(
      renderMail(input({ kind: 'hard_limit', care: [line({ stage: 'hard_limit_tomorrow' }), line({ stage: 'hard_limit_tomorrow' })] }))
        .subject,
    ).toBe('Hall North: must be done by 24 August, 2 jobs')
    expect(renderMail(input({ kind: 'safety_finding', care: [line({ stage: 'safety_finding' })] })).subject).toBe(
      'Hall North: safety finding on DN-014',
    )
  })
})

const NASTY = 'Eve</li><script>x()</script>\r\nBcc: all@example.org\r\n\r\n- A99: forged “line” & \u202egnp.exe\u0000'

describe('names and notes from anywhere', () => {
  const mail = renderMail(
    input({
      person: { name: NASTY, language: 'en', units: 'si' },
      warehouse: { id: newId(), name: NASTY },
      care: [line({ labelCode: NASTY, stationName: NASTY, taskName: NASTY, forName: NASTY })],
      parts: [{ name: NASTY, stockCode: NASTY, quantity: 1, orderBy: '2026-05-06' }],
    }),
  )

  it('are escaped in HTML', () => {
    expect(mail.html).not.toContain('<script')
    expect(mail.html).not.toMatch(/<\/li>(?!\n)/)
    expect(mail.html).toContain('&lt;script&gt;')
  })

  it('make no line, no header and no turned text', () => {
    expect(mail.subject).not.toMatch(/[\p{Cc}\u202e]/u)
    expect(mail.text).not.toMatch(/^- A99/m)
    expect(mail.text).not.toMatch(/[\u202e\r]/)
    expect(mail.text).not.toContain('\u0000')
    expect(mail.calendarFile).not.toMatch(/^Bcc:/m)
  })
})

describe('the HTML', () => {
  const { html } = renderMail(input({ care: [line()] }))
  it('loads nothing from anywhere and sets no colours that dark could not turn', () => {
    expect(html).not.toMatch(/<(img|script|link|iframe|object)\b|url\(|@import|src=/i)
    expect(html).not.toMatch(/(background|(^|[^-])color):\s*(#|rgb|white|black)/i)
    expect([...html.matchAll(/href="([^"]+)"/g)].map(([, url]) => url)).toEqual([
      'https://care.example/',
      'https://care.example/api/v1/unsubscribe/abc',
    ])
  })
})

describe('the calendar file', () => {
  it('is spoken of where it comes along, and only there', () => {
    const spoken = (more: Partial<MailInput>): [boolean, boolean] => {
      const { text, html, calendarFile } = renderMail(input(more))
      const said = [flat(text), html].map((one) => one.includes('The attached calendar file'))
      return [calendarFile !== null, said.every(Boolean)]
    }
    expect(spoken({ care: [line({ stage: 'month_list' }), line({ stage: 'month_last_week' })] })).toEqual([false, false])
    expect(spoken({ care: [line()] })).toEqual([true, true])
    expect(spoken({ maybeSaid: [line()] })).toEqual([true, true])
    expect(spoken({})).toEqual([false, false])
  })

  const one = line()
  const file = renderMail(input({ care: [one, line({ stage: 'month_list' })] })).calendarFile ?? ''

  it('is read by two parsers that are not ours', () => {
    const events = new ICAL.Component(ICAL.parse(file)).getAllSubcomponents('vevent').map((event) => new ICAL.Event(event))
    expect(events.map(({ uid, startDate, endDate }) => [uid, startDate.toString(), endDate.toString()])).toEqual([
      [`occurrence-${one.occurrenceId}@tapewarden`, '2026-05-12', '2026-05-13'],
    ])
    const parsed = Object.values(nodeIcal.sync.parseICS(file) as unknown as Record<string, { type: string; summary: string }>)
    const other = parsed.find(({ type }) => type === 'VEVENT')
    expect(other?.summary).toBe('DN-014: Replace both motor brushes')
  })

  it('keeps lines to 75 octets and ends them with CRLF (RFC 5545, 3.1)', () => {
    const long = renderMail(input({ care: [line({ taskName: 'Überprüfung der Höhe '.repeat(12) })] })).calendarFile ?? ''
    expect(long.replaceAll('\r\n', '')).not.toContain('\n')
    for (const part of long.split('\r\n')) expect(Buffer.byteLength(part)).toBeLessThanOrEqual(75)
  })
})
