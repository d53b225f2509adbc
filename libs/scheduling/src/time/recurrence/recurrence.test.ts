import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import ICAL from 'ical.js'
import { Temporal } from 'temporal-polyfill'
import { recurrence } from './expand.js'
import { readRule } from './read-rule.js'

const dates = (start: string, rule: string, limit?: number, zone = 'America/New_York'): string[] =>
  recurrence({ start, zone, rule, limit }).local.map((local) => local.slice(0, 10))

describe('RFC 5545, 3.8.5.3, examples', () => {
  it.each([
    ['19970902T090000', 'FREQ=DAILY;INTERVAL=2', ['1997-09-02', '1997-09-04', '1997-09-06']],
    ['19970902T090000', 'FREQ=WEEKLY;INTERVAL=2;WKST=SU', ['1997-09-02', '1997-09-16', '1997-09-30']],
    [
      '19970922T090000',
      'FREQ=MONTHLY;COUNT=6;BYDAY=-2MO',
      ['1997-09-22', '1997-10-20', '1997-11-17', '1997-12-22', '1998-01-19', '1998-02-16'],
    ],
    ['19970910T090000', 'FREQ=MONTHLY;INTERVAL=18;BYMONTHDAY=10,11,12', ['1997-09-10', '1997-09-11', '1997-09-12', '1999-03-10']],
    [
      '19970101T090000',
      'FREQ=YEARLY;INTERVAL=3;BYYEARDAY=1,100,200',
      ['1997-01-01', '1997-04-10', '1997-07-19', '2000-01-01', '2000-04-09'],
    ],
    ['19970512T090000', 'FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO', ['1997-05-12', '1998-05-11', '1999-05-17']],
    ['19970902T090000', 'FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13', ['1998-02-13', '1998-03-13', '1998-11-13', '1999-08-13', '2000-10-13']],
    [
      '19970929T090000',
      'FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2',
      ['1997-09-29', '1997-10-30', '1997-11-27', '1997-12-30', '1998-01-29'],
    ],
    ['19970805T090000', 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=SU', ['1997-08-05', '1997-08-17', '1997-08-19', '1997-08-31']],
    ['19970805T090000', 'FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=MO', ['1997-08-05', '1997-08-10', '1997-08-19', '1997-08-24']],
  ])('%s %s', (start, rule, wanted) => expect(dates(start, rule, wanted.length)).toEqual(wanted))

  it('every 20 minutes from 9:00 to 16:40, said in two ways', () => {
    const asked = { start: '19970902T090000', zone: 'America/New_York', limit: 60 }
    const daily = recurrence({ ...asked, rule: 'FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40' })
    expect(recurrence({ ...asked, rule: 'FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16' })).toEqual(daily)
    expect(daily.local.slice(22, 26)).toEqual(['1997-09-02T16:20', '1997-09-02T16:40', '1997-09-03T09:00', '1997-09-03T09:20'])
  })
})

describe('local time', () => {
  const berlin = (start: string, limit: number) => recurrence({ start, zone: 'Europe/Berlin', rule: 'FREQ=DAILY', limit }).utc

  it('stays the same while the clocks change, and is read with the offset before in the gap', () => {
    expect(berlin('20260328T090000', 2)).toEqual(['2026-03-28T08:00Z', '2026-03-29T07:00Z'])
    expect(berlin('20260328T023000', 3)).toEqual(['2026-03-28T01:30Z', '2026-03-29T01:30Z', '2026-03-30T00:30Z'])
  })

  it('is the first of two in the repeated hour', () => {
    expect(berlin('20261024T023000', 3)).toEqual(['2026-10-24T00:30Z', '2026-10-25T00:30Z', '2026-10-26T01:30Z'])
  })

  it('ends with UNTIL, included: an instant, a local time, or a whole local day', () => {
    const ends = (until: string) => dates('20260301T090000', `FREQ=DAILY;UNTIL=${until}`, 50, 'Europe/Berlin').length
    expect([
      ends('20260305T080000Z'),
      ends('20260305T075959Z'),
      ends('20260305T090000'),
      ends('20260305T085959'),
      ends('20260305'),
    ]).toEqual([5, 4, 5, 4, 5])
  })

  it('shows seconds only where there are some', () => {
    expect(recurrence({ start: '20260101T000000', zone: 'UTC', rule: 'FREQ=SECONDLY;INTERVAL=45;COUNT=3' })).toEqual({
      local: ['2026-01-01T00:00', '2026-01-01T00:00:45', '2026-01-01T00:01:30'],
      utc: ['2026-01-01T00:00Z', '2026-01-01T00:00:45Z', '2026-01-01T00:01:30Z'],
    })
  })
})

describe('edges', () => {
  it.each([
    ['20260131T023000', 'Australia/Sydney', 'FREQ=MONTHLY;BYMONTHDAY=-31', ['2026-02-28T15:30Z', '2026-04-30T16:30Z', '2026-06-30T16:30Z']],
    [
      '20261002T021500',
      'Australia/Lord_Howe',
      'FREQ=DAILY',
      ['2026-10-01T15:45Z', '2026-10-02T15:45Z', '2026-10-03T15:45Z', '2026-10-04T15:15Z'],
    ],
    ['20260404T233000', 'America/Santiago', 'FREQ=DAILY', ['2026-04-05T02:30Z', '2026-04-06T03:30Z']],
    ['20260905T003000', 'America/Santiago', 'FREQ=DAILY', ['2026-09-05T04:30Z', '2026-09-06T04:30Z', '2026-09-07T03:30Z']],
    ['20240229T120000', 'UTC', 'FREQ=YEARLY;INTERVAL=3', ['2024-02-29T12:00Z', '2036-02-29T12:00Z', '2048-02-29T12:00Z']],
    [
      '20260101T090000',
      'UTC',
      'FREQ=YEARLY;BYMONTH=3,9;BYMONTHDAY=-1,15;BYSETPOS=2,-1',
      ['2026-03-31T09:00Z', '2026-09-30T09:00Z', '2027-03-31T09:00Z'],
    ],
  ])('%s in %s, %s, as python-dateutil and zoneinfo have it', (start, zone, rule, utc) =>
    expect(recurrence({ start, zone, rule, limit: utc.length }).utc).toEqual(utc),
  )

  it('a week of the year alone takes the weekday of the start, also across New Year', () => {
    expect(dates('20240101T090000', 'FREQ=YEARLY;BYWEEKNO=1', 4)).toEqual(['2024-01-01', '2024-12-30', '2025-12-29', '2027-01-04'])
    expect(dates('20201228T090000', 'FREQ=YEARLY;BYWEEKNO=53', 3)).toEqual(['2020-12-28', '2026-12-28', '2032-12-27'])
    expect(dates('20201228T090000', 'FREQ=YEARLY;BYWEEKNO=-1', 3)).toEqual(['2020-12-28', '2021-12-27', '2022-12-26'])
  })

  it('RFC 5545, 3.3.12: second 60 is read as second 59', () => {
    const asked = (rule: string) => recurrence({ start: '20260101T090000', zone: 'UTC', rule, limit: 3 })
    expect(asked('FREQ=DAILY;BYSECOND=60')).toEqual(asked('FREQ=DAILY;BYSECOND=59'))
    expect(asked('FREQ=DAILY;BYSECOND=59,60').local).toEqual(['2026-01-01T09:00:59', '2026-01-02T09:00:59', '2026-01-03T09:00:59'])
    expect(() => asked('FREQ=DAILY;BYSECOND=61')).toThrow('BYSECOND')
  })

  it('what never occurs ends empty: 30 February', () => {
    expect(dates('20260101T090000', 'FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30', 3)).toEqual([])
    expect(() => dates('20260101T090000', 'FREQ=SECONDLY;INTERVAL=2;BYSECOND=1', 3)).toThrow('rule does not occur')
  })

  it.each([
    ['', 'rule must be parts'],
    ['FREQ=FORTNIGHTLY', 'rule needs FREQ'],
    ['INTERVAL=2', 'rule needs FREQ'],
    ['FREQ=DAILY;INTERVAL=0', 'INTERVAL'],
    ['FREQ=DAILY;COUNT=2;UNTIL=20260101T000000Z', 'both COUNT and UNTIL'],
    ['FREQ=DAILY;COUNT=2;COUNT=3', 'COUNT twice'],
    ['FREQ=DAILY;COUNT=1.5', 'COUNT'],
    ['FREQ=DAILY;BYEASTER=1;COUNT=1', 'unknown name'],
    ['FREQ=MONTHLY;BYMONTHDAY=0', '0 in BYMONTHDAY'],
    ['FREQ=MONTHLY;BYMONTHDAY=32', 'BYMONTHDAY'],
    ['FREQ=WEEKLY;BYMONTHDAY=1', 'BYMONTHDAY with FREQ=WEEKLY'],
    ['FREQ=WEEKLY;BYDAY=1MO', 'numbers in BYDAY'],
    ['FREQ=YEARLY;BYWEEKNO=3;BYDAY=1MO', 'together with BYWEEKNO'],
    ['FREQ=MONTHLY;BYWEEKNO=3', 'BYWEEKNO'],
    ['FREQ=MONTHLY;BYYEARDAY=3', 'BYYEARDAY'],
    ['FREQ=MONTHLY;BYDAY=XX', 'BYDAY'],
    ['FREQ=MONTHLY;BYSETPOS=1', 'beside BYSETPOS'],
    ['FREQ=DAILY;UNTIL=20260230T000000Z', 'UNTIL'],
  ])('refuses %s', (rule, why) => expect(() => readRule(rule)).toThrow(why))

  it('refuses a rule without end or limit, a wrong start and an unknown zone', () => {
    const asked = { start: '20260101T090000', zone: 'UTC', rule: 'FREQ=DAILY' }
    expect(() => recurrence(asked)).toThrow('limit')
    expect(() => recurrence({ ...asked, limit: 1, start: '20260230T090000' })).toThrow('start')
    expect(() => recurrence({ ...asked, limit: 1, zone: 'Mars/Olympus' })).toThrow('zone')
  })
})

const DAY_NAMES = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU']
const list = <T>(one: fc.Arbitrary<T>, most: number) => fc.uniqueArray(one, { minLength: 1, maxLength: most })
const maybe = <T>(one: fc.Arbitrary<T>) => fc.option(one, { nil: undefined, freq: 1 })
const signed = (high: number) => fc.oneof(fc.integer({ min: 1, max: high }), fc.integer({ min: -high, max: -1 }))

const randomRule = fc
  .record({
    FREQ: fc.constantFrom('YEARLY', 'MONTHLY', 'WEEKLY', 'DAILY'),
    INTERVAL: fc.integer({ min: 1, max: 5 }),
    BYMONTH: maybe(list(fc.integer({ min: 1, max: 12 }), 4)),
    BYMONTHDAY: maybe(list(signed(31), 5)),
    BYDAY: maybe(list(fc.constantFrom(...DAY_NAMES), 5)),
    WKST: fc.constantFrom('MO', 'SU'),
  })
  .map((parts) => (parts.FREQ === 'WEEKLY' ? { ...parts, BYMONTHDAY: undefined } : parts))
const randomStart = fc.record({
  year: fc.integer({ min: 1995, max: 2035 }),
  month: fc.integer({ min: 1, max: 12 }),
  day: fc.integer({ min: 1, max: 31 }),
})

type Parts = typeof randomRule extends fc.Arbitrary<infer T> ? T : never
const ruleText = (parts: Parts) =>
  Object.entries(parts)
    .filter(([, value]) => value !== undefined)
    .map(([name, value]) => `${name}=${String(value)}`)
    .join(';')

/** Asks of every single day, with Temporal, whether the rule allows it. */
function dayByDay(parts: Parts, start: Temporal.PlainDate, days: number): string[] {
  const found: string[] = []
  const weekOf = (date: Temporal.PlainDate) => date.subtract({ days: parts.WKST === 'SU' ? date.dayOfWeek % 7 : date.dayOfWeek - 1 })
  const bare = !parts.BYMONTHDAY && !parts.BYDAY
  for (let offset = 0; offset < days; offset++) {
    const date = start.add({ days: offset })
    const passed = {
      YEARLY: date.year - start.year,
      MONTHLY: (date.year - start.year) * 12 + date.month - start.month,
      WEEKLY: weekOf(start).until(weekOf(date)).days / 7,
      DAILY: offset,
    }[parts.FREQ as 'DAILY']
    if (passed % parts.INTERVAL !== 0) continue
    if (parts.BYMONTH ? !parts.BYMONTH.includes(date.month) : bare && parts.FREQ === 'YEARLY' && date.month !== start.month) continue
    if (parts.BYMONTHDAY && !parts.BYMONTHDAY.some((wanted) => wanted === date.day || wanted === date.day - date.daysInMonth - 1)) continue
    if (parts.BYDAY && !parts.BYDAY.includes(DAY_NAMES[date.dayOfWeek - 1] as string)) continue
    if (bare && ['YEARLY', 'MONTHLY'].includes(parts.FREQ) && date.day !== start.day) continue
    if (bare && parts.FREQ === 'WEEKLY' && date.dayOfWeek !== start.dayOfWeek) continue
    found.push(date.toString())
  }
  return found
}

const stampOf = (date: Temporal.PlainDate) => `${date.toString().replaceAll('-', '')}T090000`

describe('random rules', () => {
  it('agree with asking every day of twelve years', () => {
    fc.assert(
      fc.property(randomRule, randomStart, (parts, from) => {
        const start = Temporal.PlainDate.from(from)
        const wanted = dayByDay(parts, start, 12 * 366)
        const until = start
          .add({ days: 12 * 366 - 1 })
          .toString()
          .replaceAll('-', '')
        expect(dates(stampOf(start), `${ruleText(parts)};UNTIL=${until}`, undefined, 'UTC')).toEqual(wanted)
      }),
      { numRuns: 60 },
    )
  })

  it('agree with ical.js on months, weekdays and their numbers', () => {
    const rules = fc.record({
      frequency: fc.constantFrom('MONTHLY', 'WEEKLY'),
      interval: fc.integer({ min: 1, max: 4 }),
      days: list(fc.constantFrom(...DAY_NAMES), 3),
      ordinal: fc.constantFrom('', '1', '2', '4', '-1', '-2'),
    })
    fc.assert(
      fc.property(rules, randomStart, ({ frequency, interval, days, ordinal }, from) => {
        const start = Temporal.PlainDate.from(from)
        const named = days.map((day) => (frequency === 'MONTHLY' ? ordinal + day : day))
        const rule = `FREQ=${frequency};INTERVAL=${interval};BYDAY=${named.join(',')};WKST=MO`
        const iterator = ICAL.Recur.fromString(rule).iterator(ICAL.Time.fromDateTimeString(`${start.toString()}T09:00:00`))
        // ical.js counts a start that the rule does not allow as an occurrence.
        const wanted = Array.from({ length: 21 }, () => iterator.next().toString().slice(0, 10))
        const ours = dates(stampOf(start), rule, 20, 'UTC')
        expect(ours).toEqual(ours[0] === wanted[0] ? wanted.slice(0, 20) : wanted.slice(1))
      }),
      { numRuns: 200 },
    )
  })

  it('rise strictly, begin no earlier than the start and are as many as asked', () => {
    fc.assert(
      fc.property(randomRule, fc.integer({ min: 1, max: 40 }), (parts, limit) => {
        const { local } = recurrence({ start: '20260315T090000', zone: 'Europe/Berlin', rule: ruleText(parts), limit })
        expect([...new Set(local)].sort()).toEqual(local)
        expect(local.length).toBeLessThanOrEqual(limit)
        for (const each of local) expect(each >= '2026-03-15T09:00').toBe(true)
      }),
      { numRuns: 100 },
    )
  })
})
