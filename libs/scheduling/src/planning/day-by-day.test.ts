/**
 * The planner day by day, with what it decided carried out: reminders, lateness, skips, put-offs. The dates are
 * worked out by hand and by a calendar; intervals are assumptions of the rules of dates, no source.
 */
import { describe, expect, it } from '@jest/globals'
import { dateOf, dayOf } from '../time/day.js'
import { months, NO_PEAK_CALENDAR, smallCare, taskOf, WORKED_CASES_CALENDAR } from './plans-for-tests.js'
import { World } from './world-for-tests.js'

const chain = taskOf('chain', [months(6)])
const january = { last: { chain: '2026-01-10' } }

describe('the ladder of one occurrence (rule 10)', () => {
  it('coming due, due, late, passed on by 3, 7 and 14 days, urgent before the limit, past it: each once', () => {
    // Point Fri 10 Jul, window to 28 Jul, hard limit Mon 24 Aug; the last working day before it is Fri 21 Aug.
    const world = new World([chain]).add('m', january)
    world.planDaily('2026-06-01', '2026-10-01')
    expect(world.sayings()).toEqual([
      '2026-07-03 coming_due first',
      '2026-07-10 due first',
      '2026-07-29 late first',
      '2026-07-31 passed_on_1 technician',
      '2026-08-04 passed_on_2 second',
      '2026-08-11 passed_on_3 manager',
      '2026-08-21 hard_limit_tomorrow first',
      '2026-08-25 past_hard_limit administrator',
    ])
    expect(world.said.filter((one) => one.class === 'urgent').map(({ stage }) => stage)).toEqual(['hard_limit_tomorrow'])
  })

  it('pauses while under way, and goes on after 3 working days without an entry', () => {
    const world = new World([chain]).add('m', january)
    world.planDaily('2026-07-01', '2026-07-30')
    world.underWay('chain', '2026-07-30')
    world.planDaily('2026-07-31', '2026-08-20')
    // Thu 30 Jul: entries; Fri 31 Jul, Mon 3, Tue 4 Aug pass without one: on Tue 4 Aug it goes on.
    expect(world.sayings('passed_on_1')).toEqual(['2026-08-04 passed_on_1 technician'])
    expect(world.sayings('passed_on_2')).toEqual(['2026-08-04 passed_on_2 second'])
    expect(world.sayings('passed_on_3')).toEqual(['2026-08-11 passed_on_3 manager'])
  })

  it('starts afresh with the next occurrence', () => {
    const world = new World([chain]).add('m', january)
    world.planDaily('2026-07-01', '2026-07-08')
    world.finish('chain', '2026-07-08')
    world.planDaily('2026-07-09', '2027-01-10')
    // Sun 10 Jan 2027 is no open day: shifted to Fri 8 Jan, so it opens on 1 Jan.
    expect(world.sayings()).toEqual(['2026-07-03 coming_due first', '2027-01-01 coming_due first', '2027-01-08 due first'])
    expect(world.open('chain')?.sequence).toBe(2)
  })

  it('a safety check: late the day after its date, past its limit at once', () => {
    const world = new World([taskOf('interlock', [months(6)], { safetyCheck: true })]).add('m', { last: { interlock: '2026-01-10' } })
    world.planDaily('2026-06-20', '2026-07-13')
    expect(world.days('interlock')).toMatchObject({ nominal: '2026-07-10', to: '2026-07-10', hard: '2026-07-10', late: '2026-07-11' })
    expect(world.sayings()).toEqual([
      '2026-07-03 coming_due first',
      '2026-07-09 hard_limit_tomorrow first',
      '2026-07-10 due first',
      '2026-07-11 late first',
      '2026-07-11 past_hard_limit administrator',
      '2026-07-13 passed_on_1 technician',
    ])
  })
})

describe('opening (rule 8)', () => {
  it('by the lead of the people, or that of its parts where that is longer', () => {
    const world = new World([taskOf('chain', [months(6)], { partsLeadDays: 21 })]).add('m', january)
    world.planDaily('2026-06-01', '2026-07-01')
    expect(world.days('chain').opened).toBe('2026-06-19')
  })

  it('keeps the shifted day that it opened with, also when the calendar changes afterwards', () => {
    const world = new World([chain]).add('m', { last: { chain: '2026-06-10' } })
    world.planDaily('2026-11-01', '2026-11-10')
    expect(world.days('chain')).toMatchObject({ nominal: '2026-12-10', due: '2026-11-13' })
    world.calendar = NO_PEAK_CALENDAR
    world.plan('2026-11-11')
    expect(world.days('chain').due).toBe('2026-11-13')
  })

  it('a short-care-only peak bars a task of 20 minutes, not one of 15, and no round', () => {
    const peaks = WORKED_CASES_CALENDAR.peaks.map((peak) => ({ ...peak, bars: 'short_care_only' as const }))
    const tasks = [taskOf('long', [months(6)], { minutes: 20 }), taskOf('short', [months(6)], { minutes: 15 }), smallCare('felt')]
    const last = { long: '2026-06-10', short: '2026-06-10', felt: '2026-11-02' }
    const world = new World(tasks, { ...WORKED_CASES_CALENDAR, peaks }).add('m', { last })
    world.planDaily('2026-11-01', '2026-12-10')
    expect(world.days('long').due).toBe('2026-11-13')
    expect(world.days('short').due).toBe('2026-12-10')
    expect(world.days('felt').opened).toBe('2026-12-01')
  })
})

describe('points (rules 3, 5)', () => {
  it('floating counts from the actual day, also inside the window', () => {
    const world = new World([taskOf('chain', [months(6, { mode: 'floating' })])]).add('m', january)
    world.planDaily('2026-07-01', '2026-07-08')
    world.finish('chain', '2026-07-08')
    world.plan('2026-07-09')
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2027-01-08')
  })

  it('anchored keeps its fixed dates whatever was done when', () => {
    const anchored = taskOf('check', [months(3, { mode: 'anchored', anchoredOn: '2026-01-31' })])
    const world = new World([anchored]).add('m', { last: { check: '2026-02-20' } })
    world.plan('2026-03-01')
    expect(dateOf(world.forecast('check').likelyOn ?? 0)).toBe('2026-04-30')
    world.finish('check', '2026-05-05')
    world.plan('2026-05-06')
    expect(dateOf(world.forecast('check').likelyOn ?? 0)).toBe('2026-07-31')
  })

  it('an unasked done in the window of the next point counts from the nominal date', () => {
    const world = new World([chain]).add('m', january)
    world.plan('2026-06-25')
    expect(world.open('chain')).toBeNull()
    world.finish('chain', '2026-06-25')
    world.plan('2026-06-26')
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2027-01-10')
  })

  it('points do not creep over three years of work done a week late each time', () => {
    const world = new World([chain], NO_PEAK_CALENDAR).add('m', january)
    const points = ['2026-07-10', '2027-01-10', '2027-07-10', '2028-01-10']
    for (const point of points) {
      world.plan(point)
      expect(world.days('chain').nominal).toBe(point)
      world.finish('chain', dateOf(dayOf(point) + 7))
    }
  })
})

describe('use (rules 4, 9)', () => {
  const wheel = taskOf('wheel', [{ kind: 'usage', unit: 'strips', amount: 20_000 }])

  it('keeps the day on which the amount was passed, and is late after its window', () => {
    // 800 a working day from Mon 5 Jan: 18 000, 20 000, 22 000 on the 23rd, 25th, 28th working day.
    const world = new World([wheel], NO_PEAK_CALENDAR).add('m', { last: { wheel: '2026-01-04' } })
    world.setLast('m', 'wheel', { stripsTotal: 0 })
    for (let day = dayOf('2026-01-05'); day <= dayOf('2026-02-28'); day++) {
      world.use('m', dateOf(day), dateOf(day), 800)
      world.plan(day + 1)
    }
    expect(world.days('wheel')).toMatchObject({ nominal: '2026-02-06', from: '2026-02-04', to: '2026-02-11', late: '2026-02-12' })
    expect(world.sayings('late')).toEqual(['2026-02-12 late first'])
    expect(world.sayings('passed_on_3')).toEqual(['2026-02-25 passed_on_3 manager'])
    // 25 000 (hard limit) on the 32nd, Tue 17 Feb.
    expect(world.days('wheel').hard).toBe('2026-02-17')
    expect(world.said.filter(({ stage }) => stage === 'hard_limit_tomorrow')).toHaveLength(1)
  })

  it('no urgent mail where use is only inferred', () => {
    const world = new World([wheel], NO_PEAK_CALENDAR).add('m', { last: { wheel: '2026-01-04' } })
    world.setLast('m', 'wheel', { stripsTotal: 0 })
    for (let day = dayOf('2026-01-05'); day <= dayOf('2026-02-28'); day++) {
      world.use('m', dateOf(day), dateOf(day), 800, 'cartons')
      world.plan(day + 1)
    }
    expect(world.sayings('hard_limit_tomorrow')).toEqual([])
    expect(world.sayings('late').length).toBe(1)
  })

  it('motor minutes and metres are turned into strips by the type', () => {
    // A strip of 0.5 m at 30 m/min and 0.2 s start-up takes 0.02 motor minutes: 16 a day at 800 strips; 0.5 m: 400 a day.
    const tasks = [
      taskOf('minutes', [{ kind: 'usage', unit: 'motor_minutes', amount: 320 }]),
      taskOf('metres', [{ kind: 'usage', unit: 'metres', amount: 8000 }]),
      taskOf('strips', [{ kind: 'usage', unit: 'strips', amount: 16_000 }]),
    ]
    const last = { minutes: '2026-01-04', metres: '2026-01-04', strips: '2026-01-04' }
    const world = new World(tasks, NO_PEAK_CALENDAR).add('m', { last })
    for (const key of Object.keys(last)) world.setLast('m', key, { stripsTotal: 0 })
    world.use('m', '2026-01-05', '2026-01-16', 800)
    world.plan('2026-01-17')
    const dates = tasks.map(({ key }) => world.forecast(key).likelyOn)
    expect(dates[0]).toBe(dates[2])
    expect(dates[1]).toBe(dates[2])
    // 16 000 strips on the 20th working day, Fri 30 Jan; the level is drawn a little towards the type's, so perhaps on Mon 2 Feb.
    expect(['2026-01-30', '2026-02-02']).toContain(dateOf(dates[2] ?? 0))
  })

  it('a machine at a station without use has no usage date and sends nothing', () => {
    const closed = { ...NO_PEAK_CALENDAR, closures: [{ from: dayOf('2026-01-01'), to: dayOf('2033-12-31') }] }
    const world = new World([wheel], closed).add('m', { last: { wheel: '2026-01-04' } })
    world.setLast('m', 'wheel', { stripsTotal: 0 })
    world.planDaily('2026-01-05', '2026-03-01')
    expect(world.forecast('wheel')).toMatchObject({ state: 'no_date', likelyOn: null })
    expect(world.said).toEqual([])
  })
})

describe('skipped and put off (rules 11, 13)', () => {
  it('skipped: the next scheduled point, while the hard limit still runs from the last done', () => {
    const world = new World([chain]).add('m', january)
    world.planDaily('2026-07-01', '2026-07-10')
    world.skip('chain', '2026-07-10')
    world.planDaily('2026-07-11', '2026-08-10')
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2027-01-10')
    expect(world.open('chain')).toBeNull()
    world.planDaily('2026-08-11', '2026-08-26')
    expect(world.days('chain')).toMatchObject({
      opened: '2026-08-17',
      nominal: '2027-01-10',
      hard: '2026-08-24',
      due: '2026-08-24',
      late: '2026-08-25',
    })
    expect(world.sayings('past_hard_limit')).toEqual(['2026-08-25 past_hard_limit administrator'])
  })

  it('skipped by use: asked for again at the limit, not the same night', () => {
    const world = new World([taskOf('wheel', [{ kind: 'usage', unit: 'strips', amount: 20_000 }])], NO_PEAK_CALENDAR)
    world.add('m', { last: { wheel: '2026-01-04' } }).setLast('m', 'wheel', { stripsTotal: 0 })
    world.use('m', '2026-01-05', '2026-02-06', 800)
    world.plan('2026-02-07')
    world.skip('wheel', '2026-02-07')
    world.plan('2026-02-07')
    // 25 000 strips on the 32nd working day.
    expect(dateOf(world.forecast('wheel').likelyOn ?? 0)).toBe('2026-02-17')
  })

  it('put off: its own number, its new day as window end, its own reminders', () => {
    const world = new World([chain]).add('m', january)
    world.planDaily('2026-07-01', '2026-07-10')
    world.putOff('chain', '2026-07-10', '2026-08-07')
    world.planDaily('2026-07-10', '2026-08-11')
    expect(world.days('chain')).toMatchObject({ nominal: '2026-07-10', due: '2026-08-07', to: '2026-08-07', hard: '2026-08-24' })
    expect(world.said.filter(({ sequence }) => sequence === 2).map(({ on, stage }) => `${on} ${stage}`)).toEqual([
      '2026-07-10 coming_due',
      '2026-08-07 due',
      '2026-08-08 late',
      '2026-08-10 passed_on_1',
    ])
  })

  it('a skipped month is not asked for again that month, the next one is', () => {
    const world = new World([smallCare('felt')]).add('m', { last: { felt: '2026-03-03' } })
    world.planDaily('2026-04-01', '2026-04-10')
    world.skip('felt', '2026-04-10')
    world.planDaily('2026-04-11', '2026-05-04')
    expect(world.days('felt').opened).toBe('2026-05-01')
    expect(world.ended.map(({ state }) => state)).toEqual(['skipped'])
  })
})
