import { describe, expect, it } from '@jest/globals'
import { dayOf, type WarehouseCalendar } from '@tapewarden/scheduling'
import { type DuesToFit, fitWeeks } from './week-fit.js'

/** Monday to Friday; closed on Thursday 28 and Friday 29 May 2026; from 1 to 5 June only short care. */
const calendar: WarehouseCalendar = {
  zone: 'Europe/Berlin',
  shiftMinutes: [0, 480, 480, 480, 480, 480, 0, 0],
  shifts: [],
  closures: [{ from: dayOf('2026-05-28'), to: dayOf('2026-05-29') }],
  peaks: [{ from: dayOf('2026-06-01'), to: dayOf('2026-06-05'), usageMultiplier: 2, bars: 'short_care_only' }],
}
interface Named extends DuesToFit {
  name: string
}
const due = (name: string, dueOn: string, minutes: number, more: Partial<DuesToFit> = {}): Named => ({
  name,
  count: 1,
  dueOn,
  minutes,
  skill: 'technician',
  reach: 'cover_off',
  safetyCheck: false,
  late: false,
  ...more,
})
/** Five hours a week: 60 minutes a day. */
const fit = (dues: Named[], today = '2026-05-18', hours: number | null = 5) =>
  fitWeeks(calendar, hours, dayOf(today), dayOf('2026-05-18'), 3, dues)
/** Each by so many as do not fit. */
const left = ({ fitting }: ReturnType<typeof fit>): (string | number)[] =>
  [...fitting].flatMap(([{ name, count }, fits]) => (fits === count ? [] : [name, count - fits]))

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
    const found = fit(all)
    expect(found.weeks[1]).toEqual({ technicianMinutes: 180, doesNotFitCount: 1, doesNotFitMinutes: 60 })
    expect(left(found)).toEqual(['D', 1])
  })
  it('lets a shorter one in where a longer one does not fit any more', () => {
    expect(left(fit([due('A', '2026-05-18', 250), due('B', '2026-05-19', 60), due('C', '2026-05-20', 50)]))).toEqual(['B', 1])
    // Of one day the shorter goes first.
    expect(left(fit([due('A', '2026-05-18', 290), due('B', '2026-05-18', 20)]))).toEqual(['A', 1])
  })
  // By hand: 300 minutes take six of 45, then 30 are left, which take one of 20 of the next day.
  it('takes of many that are alike as many as fit', () => {
    const found = fit([due('A', '2026-05-18', 45, { count: 9 }), due('B', '2026-05-19', 20, { count: 2 })])
    expect(left(found)).toEqual(['A', 3, 'B', 1])
    expect(found.weeks[0]).toEqual({ technicianMinutes: 300, doesNotFitCount: 4, doesNotFitMinutes: 155 })
  })
  it('has no room for long care in a peak that bars it, whatever the hours', () => {
    const dues = [due('long', '2026-06-02', 20), due('short', '2026-06-03', 15)]
    for (const hours of [5, null]) expect(left(fit(dues, '2026-05-18', hours))).toEqual(['long', 1])
  })
  it('says nothing of hours that nobody has stated, nor of what instructed people do', () => {
    const found = fit([due('A', '2026-05-18', 9000), due('B', '2026-05-18', 9000, { skill: 'instructed' })], '2026-05-18', null)
    expect([found.weeks[0], left(found)]).toEqual([{ technicianMinutes: null, doesNotFitCount: 0, doesNotFitMinutes: 0 }, []])
  })
  it('loads what was due before the first week on it, and leaves what lies beyond', () => {
    const { weeks } = fit([due('A', '2026-04-01', 400), due('B', '2026-08-01', 400)])
    expect(weeks.map(({ doesNotFitCount }) => doesNotFitCount)).toEqual([1, 0, 0])
  })
})
