import { describe, expect, it } from '@jest/globals'
import { howSure } from './how-sure.js'
import { type ExplainedForecast, whyDue } from './why.js'

const forecast = (more: Partial<ExplainedForecast>): ExplainedForecast => ({
  state: 'dated',
  earlyOn: '2026-05-03',
  likelyOn: '2026-05-12',
  lateOn: '2026-05-26',
  noLaterThan: null,
  governingTrigger: 'usage',
  basis: { lastDoneOn: '2026-02-03', unit: 'strips', amount: 20_000, used: 14_200, perDay: 310, kinds: ['counter'], intervals: 9 },
  reason: null,
  ...more,
})
const exact = (on: string, governingTrigger: string, basis: ExplainedForecast['basis']) =>
  forecast({ earlyOn: on, likelyOn: on, lateOn: on, governingTrigger, basis })

describe('why is this due?', () => {
  it('by use, with its numbers', () => {
    expect(whyDue(forecast({}))).toBe(
      'Likely 12 May 2026, between 3 May and 26 May. 14 200 of 20 000 strips since 3 Feb 2026, about 310 a working day (counter).',
    )
  })

  it('no tenth of what is only known about, but of what is small', () => {
    const perDay = (amount: number) => whyDue(forecast({ basis: { ...forecast({}).basis, perDay: amount } }))
    expect(perDay(1006.2)).toMatch(/about 1 006 a working day/)
    expect(perDay(19.94)).toMatch(/about 19\.9 a working day/)
  })

  it('the year stands where it is another one, and a limit where there is one', () => {
    expect(whyDue(forecast({ lateOn: '2027-01-04', noLaterThan: '2026-06-30' }))).toMatch(
      /between 3 May and 4 Jan 2027, no later than 30 Jun\./,
    )
  })

  it('since part or machine was new, where nothing was done yet', () => {
    const since = (isNew: 'part' | 'machine', more: ExplainedForecast['basis']) => ({ lastDoneOn: '2026-01-10', isNew, ...more })
    const months = since('part', { months: 6, days: null })
    expect(whyDue(exact('2026-07-10', 'calendar', months))).toBe('10 Jul 2026. 6 months from when the part was new, 10 Jan 2026.')
    expect(whyDue(exact('2026-01-31', 'calendar_month', since('machine', {})))).toBe(
      '31 Jan 2026. Once in each calendar month; not done yet since the machine was new, 10 Jan 2026.',
    )
  })

  it('by the calendar, with what turned it aside', () => {
    const basis = { lastDoneOn: '2026-01-10', months: 6, days: null, dueOn: '2026-07-10' }
    expect(whyDue(exact('2026-07-10', 'calendar', basis))).toBe('10 Jul 2026. 6 months from the last time, 10 Jan 2026.')
    expect(whyDue(exact('2027-01-10', 'calendar', { ...basis, skippedOn: '2026-07-10' }))).toMatch(/; skipped on 10 Jul 2026\.$/)
    expect(whyDue(exact('2026-07-10', 'calendar', { ...basis, planChangedOn: '2026-06-10' }))).toMatch(
      /; the plan changed on 10 Jun 2026\.$/,
    )
  })

  it('what is not known is said', () => {
    const look = forecast({
      state: 'first_look',
      likelyOn: '2026-06-03',
      governingTrigger: 'calendar',
      basis: { firstLook: true, lastDoneOn: null },
    })
    expect(whyDue(look)).toBe(
      'We don’t know when this was last done. First look: week 23 of 2026; until then there is no date, only this visit.',
    )
    expect(whyDue(forecast({ state: 'no_date', likelyOn: null, reason: 'Measured too seldom for a date.' }))).toBe(
      'Measured too seldom for a date.',
    )
    expect(whyDue(forecast({ state: 'cannot_be_computed', likelyOn: null, reason: 'Its ledger total is no number.' }))).toBe(
      'Cannot be computed: Its ledger total is no number.',
    )
  })

  it('by wear, life, finding, situation, peak', () => {
    const wear = {
      measurements: 2,
      lastLengthMm: 11.2,
      measuredOn: '2026-03-01',
      planLimitMm: 9.5,
      neverBelowMm: 6.4,
      perDay: 310,
      kinds: ['counter'],
    }
    expect(whyDue(forecast({ governingTrigger: 'wear', basis: wear }))).toMatch(
      /Measured 11\.2 mm on 1 Mar 2026; .* 9\.5 mm then \(2 measurements\)\.$/,
    )
    // 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    expect(whyDue(forecast({ governingTrigger: 'wear', basis: { ...wear, lastLengthMm: 11.1125, planLimitMm: 9.525 } }), 'us')).toMatch(
      /Measured 0\.438 in on 1 Mar 2026; .* 0\.375 in then \(2 measurements\)\.$/,
    )
    const life = { lastDoneOn: '2026-01-10', ageYears: 10.2, failedPercent: 10, removals: 0 }
    expect(whyDue(exact('2026-11-01', 'life', life))).toMatch(/10\.2 years old.*10 % \(the trade's range, no removals yet\)\.$/)
    expect(whyDue(exact('2026-05-12', 'finding', { foundOn: '2026-05-01', finding: 'Dried glue.' }))).toMatch(
      /Found on 1 May 2026: Dried glue\.$/,
    )
    expect(whyDue(exact('2026-05-12', 'situation', { situation: 'moved', happenedOn: '2026-05-12' }))).toMatch(/the machine was moved\.$/)
    expect(whyDue(exact('2026-11-13', 'situation', { situation: 'before_peak', happenedOn: '2026-11-15' }))).toMatch(
      /A peak begins on 15 Nov 2026\.$/,
    )
  })

  it('is the same sentence from the stored numbers, whatever the process is set to', () => {
    const stored = JSON.parse(JSON.stringify(forecast({}))) as ExplainedForecast
    expect(whyDue(stored)).toBe(whyDue(forecast({})))
  })
})

describe('how far can this be trusted?', () => {
  it('names what it rests on, and promises no more', () => {
    expect(howSure(forecast({}))).toBe(
      'It rests on counter, 9 intervals of evidence. Eight in ten such dates should fall between 3 May and 26 May.',
    )
    expect(howSure(forecast({ basis: { kinds: [] } }))).toMatch(/^It rests on like machines only/)
    expect(howSure(forecast({ basis: { kinds: ['tap'] } }))).toMatch(/^It rests on one tap a month/)
  })

  it('a date without a range: by the calendar exact, by use read back, by age not', () => {
    expect(howSure(exact('2026-07-10', 'calendar', {}))).toBe('Exact: it follows from the calendar alone.')
    expect(howSure(exact('2026-07-10', 'usage', { kinds: ['counter'] }))).toBe(
      'That day has passed: it is read from the evidence (counter).',
    )
    expect(howSure(exact('2026-07-10', 'life', { removals: 0 }))).toMatch(/trade's range alone/)
    expect(howSure(exact('2026-07-10', 'life', { removals: 1 }))).toMatch(/1 removal and/)
    expect(howSure(forecast({ likelyOn: null }))).toBe('There is no date to trust.')
  })
})
