import { describe, expect, it } from '@jest/globals'
import { byWalk, dayAnswer, type OrderLine } from './visit-day.js'

const shift = (weekday: number, starts: string, ends: string) => ({ id: `${weekday}${starts}`, weekday, starts, ends })
const hall = {
  shifts: [shift(1, '06:00', '14:00'), shift(1, '22:00', '06:00'), shift(2, '06:00', '14:00')],
  closures: [{ id: 'c', fromDate: '2026-12-25', toDate: '2026-12-25', reason: 'holiday' }],
  peaks: [
    { id: 'p', name: 'Autumn', fromDate: '2026-11-15', toDate: '2026-12-29', usageMultiplier: 2, bars: 'no_visits' as const },
    { id: 'q', name: '', fromDate: '2026-06-01', toDate: '2026-06-30', usageMultiplier: 2, bars: 'short_care_only' as const },
  ],
}

describe('the day of a visit', () => {
  it.each([
    // Monday 4 May 2026: 8 hours and a night shift of 8.
    ['2026-05-04', 960, null],
    ['2026-05-05', 480, null],
    ['2026-05-06', 0, 'No shift works on this day.'],
    ['2026-11-16', 960, 'Autumn bars visits on this day.'],
    ['2026-06-01', 960, 'A peak leaves room for tasks up to 15 minutes only.'],
    ['2026-12-25', 0, 'Closed on this day: holiday.'],
  ])('%s has %d minutes and says %s', (day, shiftMinutes, warning) => {
    expect(dayAnswer(hall, day)).toEqual({ shiftMinutes, warning })
  })

  it('walks by the stations’ order, what stands at none last', () => {
    const at = (labelCode: string, walkingOrder: number | null) =>
      ({ machine: { labelCode }, station: walkingOrder === null ? null : { walkingOrder } }) as unknown as OrderLine
    const walk = [at('D', null), at('C', 2), at('B', 1), at('A', 2)].sort(byWalk)
    expect(walk.map(({ machine }) => machine.labelCode)).toEqual(['B', 'A', 'C', 'D'])
  })
})
