import { describe, expect, it } from '@jest/globals'
import { dayOf, type WarehouseCalendar } from '@tapewarden/scheduling'
import { type DueToFit, fitWeeks } from './week-fit.js'

/** Monday to Friday; closed on Thursday 28 and Friday 29 May 2026; from 1 to 5 June only short care. */
const calendar: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
  shifts: [],
  closures: [{ from: dayOf('2026-05-28'), to: dayOf('2026-05-29') }],
  peaks: [{ from: dayOf('2026-06-01'), to: dayOf('2026-06-05'), usageMultiplier: 2, bars: 'short_care_only' }],
}
const due = (labelCode: string, dueOn: string, minutes: number, more: Partial<DueToFit> = {}): DueToFit => ({
  labelCode,
  dueOn,
  minutes,
  skill: 'technician',
  reach: 'cover_off',
  safetyCheck: false,
  late: false,
  ...more,
})
/** Five hours a week: 60 minutes a day. */
const fit = (dues: DueToFit[], today = '2026-05-18', hours: number | null = 5) =>
  fitWeeks(calendar, hours, dayOf(today), dayOf('2026-05-18'), 3, dues)

describe('what fits into the hours there are', () => {
  // By hand: 300 minutes in a whole week, 180 in one with two closed days, 300 in the peak, of which none for more than 15 minutes.
  it('counts the minutes of open days', () => {
    expect(fit([]).weeks.map(({ technicianMinutes }) => technicianMinutes)).toEqual([300, 180, 300])
  })
  it('takes the days gone by away: on Thursday 21 May two of five are left', () => {
    expect(fit([], '2026-05-21').weeks[0]?.technicianMinutes).toBe(120)
  })
  it('takes in turn safety, late, day, and says the rest', () => {
    const all = [
      due('D', '2026-05-27', 60),
      due('A', '2026-05-25', 60),
      due('C', '2026-05-26', 60, { late: true }),
      due('B', '2026-05-27', 60, { safetyCheck: true }),
    ]
    const { weeks, unfit } = fit(all)
    expect(weeks[1]).toEqual({ technicianMinutes: 180, doesNotFitCount: 1, doesNotFitMinutes: 60 })
    expect([...unfit].map(({ labelCode }) => labelCode)).toEqual(['D'])
  })
  it('lets a shorter one in where a longer one does not fit any more', () => {
    const { unfit } = fit([due('A', '2026-05-18', 250), due('B', '2026-05-19', 60), due('C', '2026-05-20', 50)])
    expect([...unfit].map(({ labelCode }) => labelCode)).toEqual(['B'])
  })
  it('has no room for long care in a peak that bars it, whatever the hours', () => {
    const dues = [due('long', '2026-06-02', 20), due('short', '2026-06-03', 15)]
    for (const hours of [5, null]) expect([...fit(dues, '2026-05-18', hours).unfit].map(({ labelCode }) => labelCode)).toEqual(['long'])
  })
  it('says nothing of hours that nobody has stated, nor of what instructed people do', () => {
    const { weeks, unfit } = fit([due('A', '2026-05-18', 9000), due('B', '2026-05-18', 9000, { skill: 'instructed' })], '2026-05-18', null)
    expect([weeks[0], unfit.size]).toEqual([{ technicianMinutes: null, doesNotFitCount: 0, doesNotFitMinutes: 0 }, 0])
  })
  it('loads what was due before the first week on it, and leaves what lies beyond', () => {
    const { weeks } = fit([due('A', '2026-04-01', 400), due('B', '2026-08-01', 400)])
    expect(weeks.map(({ doesNotFitCount }) => doesNotFitCount)).toEqual([1, 0, 0])
  })
})
