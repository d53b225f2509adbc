import { describe, expect, it } from '@jest/globals'
import { dayOf } from '@tapewarden/scheduling'
import fc from 'fast-check'
import { durationsOf, hoursWithinShifts, momentsOf, spansOf, type ToldMoments } from './durations.js'

const NONE = { noticedAt: null, reportedAt: null, workBegunAt: null, repairedAt: null, checkedAt: null, backInUseAt: null, waits: [] }
const at = (clock: string) => `2026-05-04T${clock}:00Z`
const now = Date.parse(at('20:00'))

/** Monday to Friday 06:00–14:00 and Friday 22:00–02:00, closed on Thursday 14 May 2026. */
const calendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 720, 0, 0],
  shifts: [1, 2, 3, 4, 5]
    .map((weekday) => ({ weekday, startsMinute: 360, endsMinute: 840 }))
    .concat([{ weekday: 5, startsMinute: 1320, endsMinute: 120 }]),
  closures: [{ from: dayOf('2026-05-14'), to: dayOf('2026-05-14') }],
  peaks: [],
}

describe('the split of a stoppage, worked by hand', () => {
  it('with every moment and two waits', () => {
    const moments: ToldMoments = {
      failedAt: at('08:00'),
      noticedAt: at('08:15'),
      reportedAt: at('08:20'),
      workBegunAt: at('10:15'),
      repairedAt: at('13:00'),
      checkedAt: at('13:30'),
      backInUseAt: at('14:00'),
      waits: [
        { reason: 'part', fromAt: at('11:00'), toAt: at('12:30') },
        { reason: 'second_person', fromAt: at('12:00'), toAt: at('12:45') },
      ],
    }
    // Noticed after 0.25 h; work begun 2 h later, back in use 0.5 h after the check: 2.5 h administrative. At work 10:15–13:30 = 3.25 h, of which
    // 11:00–12:30 = 1.5 h for the part and, what is left of the second wait, 12:30–12:45 = 0.25 h for the second person: 1.5 h active.
    expect(durationsOf(momentsOf(moments), now, null)).toEqual({
      totalHours: 6,
      withinShiftsHours: null,
      detectionHours: 0.25,
      administrativeHours: 2.5,
      logisticHours: 1.5,
      technicalHours: 0.25,
      activeHours: 1.5,
    })
    const clock = (ms: number) => new Date(ms).toISOString().slice(11, 16)
    expect(spansOf(momentsOf(moments), now).map(({ kind, from, to }) => `${kind} ${clock(from)}–${clock(to)}`)).toEqual([
      'detection 08:00–08:15',
      'administrative 08:15–10:15',
      'active 10:15–11:00',
      'logistic 11:00–12:30',
      'technical 12:30–12:45',
      'active 12:45–13:30',
      'administrative 13:30–14:00',
    ])
  })
  it('with only failed and back in use: noticed and worked on from the start, as far as is known', () => {
    const split = durationsOf(momentsOf({ ...NONE, failedAt: at('08:00'), backInUseAt: at('09:30') }), now, null)
    expect(split).toMatchObject({ totalHours: 1.5, detectionHours: 0, administrativeHours: 0, activeHours: 1.5 })
  })
  it('still open and not begun: it waits for a decision up to now', () => {
    const split = durationsOf(momentsOf({ ...NONE, failedAt: at('18:00'), noticedAt: at('18:30') }), now, null)
    expect(split).toMatchObject({ totalHours: 2, detectionHours: 0.5, administrativeHours: 1.5, activeHours: 0 })
  })
  it('never loses or doubles time, whatever was typed', () => {
    const minute = fc.integer({ min: 0, max: 1439 }).map((n) => new Date(Date.parse(at('00:00')) + n * 60_000).toISOString())
    const maybe = fc.option(minute)
    const wait = fc.record({ reason: fc.constantFrom('part', 'decision', 'access', 'other'), fromAt: minute, toAt: fc.option(minute) })
    const moments = fc.record({
      failedAt: minute,
      noticedAt: maybe,
      reportedAt: maybe,
      workBegunAt: maybe,
      repairedAt: maybe,
      checkedAt: maybe,
      backInUseAt: maybe,
      waits: fc.array(wait, { maxLength: 4 }),
    })
    fc.assert(
      fc.property(moments, (given) => {
        const split = durationsOf(momentsOf(given), Date.parse(at('23:59')), null)
        const parts = [split.detectionHours, split.administrativeHours, split.logisticHours, split.technicalHours, split.activeHours]
        expect(Math.min(...parts)).toBeGreaterThanOrEqual(-1e-9)
        expect(parts.reduce((sum, part) => sum + part, 0)).toBeCloseTo(split.totalHours, 9)
        const spans = spansOf(momentsOf(given), Date.parse(at('23:59')))
        // One after the other, from failed on; each has a length, and the next is of another kind.
        spans.forEach(({ kind, from, to }, index) => {
          expect([from, to > from, kind !== spans[index - 1]?.kind]).toEqual([
            index === 0 ? Date.parse(given.failedAt) : spans[index - 1]?.to,
            true,
            true,
          ])
        })
      }),
      { seed: 7, numRuns: 500 },
    )
  })
})

describe('hours within shifts', () => {
  it.each([
    // Monday 4 May 2026: 05:00–15:00 in Berlin (UTC+2) holds the whole shift of 8 h.
    ['a day', '2026-05-04T03:00:00Z', '2026-05-04T13:00:00Z', 8],
    // Friday 8 May 13:00 to Monday 11 May 07:00: 1 h, then the night shift 22:00–02:00 = 4 h, then Monday 06:00–07:00 = 1 h.
    ['over a weekend', '2026-05-08T11:00:00Z', '2026-05-11T05:00:00Z', 6],
    // Wednesday 13 May 12:00 to Friday 15 May 08:00: 2 h, none on the closed Thursday, 2 h.
    ['over a closure', '2026-05-13T10:00:00Z', '2026-05-15T06:00:00Z', 4],
    ['outside all shifts', '2026-05-09T06:00:00Z', '2026-05-10T20:00:00Z', 0],
  ])('%s', (_what, from, to, hours) => {
    expect(hoursWithinShifts(calendar, Date.parse(from), Date.parse(to))).toBeCloseTo(hours, 9)
  })
})
