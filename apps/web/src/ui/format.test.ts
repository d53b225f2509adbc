import { describe, expect, it } from '@jest/globals'
import { sayDay, sayInstant, sayLength, sayMeasured, sayNumber, sayRange, sayTick, sayWeek } from './format.js'

describe('words for the screen', () => {
  it('name the year only where it is another', () => {
    expect(sayDay('2026-05-12', '2026-11-25')).toBe('12 May')
    expect(sayDay('2027-05-12', '2026-11-25')).toBe('12 May 2027')
    expect(sayDay('2026-05-12', '2026-11-25', 'de')).toBe('12. Mai')
    expect(sayDay(null, '2026-11-25')).toBe('no date')
    const now = new Date('2027-01-01T03:00:00Z')
    expect(sayInstant('2026-12-31T22:30:00Z', 'Europe/Berlin', 'en-GB', now)).toBe('31 Dec 2026, 23:30')
    // In Chicago it is still the old year.
    expect(sayInstant('2026-12-31T22:30:00Z', 'America/Chicago', 'en-GB', now)).toBe('31 Dec, 16:30')
  })

  it('write months and thousands as the sentences why do', () => {
    expect(sayDay('2026-09-08', '2026-11-25')).toBe('8 Sep')
    expect([sayNumber(186_534), sayNumber(2.25, 1), sayTick(6000), sayTick(2.5)]).toEqual(['186\u00a0534', '2.3', '6\u00a0000', '2.5'])
  })

  it('say lengths in the reader’s units, an inch to the 64th', () => {
    expect([sayMeasured(9.525, 'mm', 'us'), sayMeasured(3, 'count', 'us'), sayMeasured(3, 'count', 'si')]).toEqual(['0.375 in', '3', '3'])
    expect([sayLength(9.525, 'si'), sayLength(9.525, 'us'), sayLength(25.4 / 64, 'us')]).toEqual(['9.5 mm', '0.375 in', '0.016 in'])
  })

  it('say a week by its runs of days with the same hours', () => {
    const early = { starts: '06:00:00', ends: '14:00:00' }
    const late = { starts: '14:00:00', ends: '22:00:00' }
    const days = [1, 2, 3, 5].flatMap((weekday) => [
      { weekday, ...late },
      { weekday, ...early },
    ])
    expect(sayWeek([...days, { weekday: 6, ...early }])).toBe(
      'Mon–Wed 06:00–14:00 and 14:00–22:00, Fri 06:00–14:00 and 14:00–22:00, Sat 06:00–14:00',
    )
    expect(sayWeek([])).toBe('')
  })

  it('say a range, or one day where it is exact', () => {
    expect(sayRange({ earlyOn: '2026-05-03', likelyOn: '2026-05-12', lateOn: '2026-05-26' }, '2026-04-01')).toBe(
      'likely 12 May, between 3 May and 26 May',
    )
    expect(sayRange({ earlyOn: '2026-05-12', likelyOn: '2026-05-12', lateOn: '2026-05-12' }, '2026-04-01')).toBe('12 May')
    expect(sayRange({ earlyOn: null, likelyOn: null, lateOn: null }, '2026-04-01')).toBe('no date')
  })
})
