/**
 * The planner day by day, with what it decided carried out: monthly lists, machines out of service and back, first looks, parts. The dates are
 * worked out by hand and by a calendar; intervals are assumptions of the rules of dates, no source.
 */
import { describe, expect, it } from '@jest/globals'
import { dateOf, dayOf } from '../time/day.js'
import { months, NO_PEAK_CALENDAR, smallCare, taskOf, TYPE } from './plans-for-tests.js'
import { World } from './world-for-tests.js'

const chain = taskOf('chain', [months(6)])
const january = { last: { chain: '2026-01-10' } }

describe('the monthly list (rules 6, 7)', () => {
  const brushes = smallCare('brushes', [{ kind: 'calendar_month' }, { kind: 'usage', unit: 'strips', amount: 20_000 }], { minutes: 10 })

  it('use in a settled month opens one of its own, with windows; done, it settles the month that it was done in', () => {
    // 14 400 strips at 800 a working day from Mon 6 April: passed on the 18th working day, Wed 29 April.
    const world = new World(
      [{ ...brushes, triggers: [{ kind: 'calendar_month' }, { kind: 'usage', unit: 'strips', amount: 14_400 }] }],
      NO_PEAK_CALENDAR,
    )
    world.add('m', { last: { brushes: '2026-04-03' } }).setLast('m', 'brushes', { stripsTotal: 0 })
    for (let day = dayOf('2026-04-06'); day <= dayOf('2026-05-03'); day++) {
      world.use('m', dateOf(day), dateOf(day), 800)
      world.plan(day + 1)
    }
    expect(world.open('brushes')).toMatchObject({ kind: 'regular', governing: 'usage', sequence: 1 })
    expect(world.days('brushes').nominal).toBe('2026-04-29')
    expect(world.sayings('month_list')).toEqual([])
    world.finish('brushes', '2026-05-04')
    world.planDaily('2026-05-05', '2026-05-15')
    expect(world.open('brushes')).toBeNull()
  })

  it('a missed month is ended on the 1st and the next opens with its own number', () => {
    const world = new World([smallCare('felt')]).add('m', { last: { felt: '2026-02-05' } })
    world.planDaily('2026-03-01', '2026-05-04')
    expect(world.ended).toEqual([
      { task: 'felt', sequence: 1, on: '2026-04-01', state: 'superseded', reason: 'Not done in its month.', missed: true },
      { task: 'felt', sequence: 2, on: '2026-05-01', state: 'superseded', reason: 'Not done in its month.', missed: true },
    ])
    // First working days: Mon 2 Mar, Wed 1 Apr, Fri 1 May. Last weeks: 25 Mar, Fri 24 Apr.
    expect(world.sayings()).toEqual([
      '2026-03-02 month_list first',
      '2026-03-25 month_last_week first',
      '2026-04-01 month_list first',
      '2026-04-24 month_last_week first',
      '2026-05-01 month_list first',
    ])
  })

  it('the felt behind a cover belongs to its month too, on days that are open to a technician', () => {
    const covered = taskOf('felt', [{ kind: 'calendar_month' }], { minutes: 5 })
    const world = new World([covered]).add('m', { last: { felt: '2026-09-03' } })
    world.planDaily('2026-10-01', '2027-01-05')
    // Until 13 Nov it is open; in December the peak leaves Wed 30 and Thu 31.
    expect(world.ended.map(({ on, missed }) => `${on} ${missed}`)).toEqual(['2026-11-01 true', '2026-12-01 true', '2027-01-01 true'])
    expect(world.sayings('month_list')).toEqual(
      ['2026-10-01', '2026-11-02', '2026-12-30', '2027-01-04'].map((on) => `${on} month_list first`),
    )
    expect(world.sayings().filter((words) => /late |passed|limit|due/.test(words))).toEqual([])
  })

  it('a month that a peak bars altogether is not asked for', () => {
    const peaks = [{ from: dayOf('2026-11-01'), to: dayOf('2026-11-30'), usageMultiplier: 1, bars: 'no_visits' as const }]
    const covered = taskOf('felt', [{ kind: 'calendar_month' }], { minutes: 5 })
    const world = new World([covered], { ...NO_PEAK_CALENDAR, peaks }).add('m', { last: { felt: '2026-10-05' } })
    world.planDaily('2026-11-01', '2026-11-30')
    expect(world.open('felt')).toBeNull()
    expect(dateOf(world.forecast('felt').likelyOn ?? 0)).toBe('2026-12-31')
  })

  it('the safety look says do not use when two whole months had no answer', () => {
    const look = smallCare('look', [{ kind: 'calendar_month' }], { safetyCheck: true })
    const world = new World([look]).add('m', { last: { look: '2026-02-05' } })
    world.planDaily('2026-03-01', '2026-04-30')
    expect(world.days('look').late).toBeNull()
    world.planDaily('2026-05-01', '2026-05-05')
    expect(world.days('look').late).toBe('2026-05-01')
    expect(world.sayings().filter((words) => /late|passed|limit/.test(words))).toEqual([])
  })

  it('a safety finding on it is said at once, urgently and once', () => {
    const look = smallCare('look', [{ kind: 'calendar_month' }], { safetyCheck: true })
    const world = new World([look]).add('m', { last: { look: '2026-04-02' } })
    const finding = {
      findingId: 'f',
      serviceTaskId: 'look',
      foundOn: dayOf('2026-04-14'),
      dueOn: null,
      withinDays: null,
      safety: true,
      text: 'Cord cut.',
    }
    world.planDaily('2026-04-03', '2026-04-14')
    world.change('m', { findings: [finding] })
    world.planDaily('2026-04-14', '2026-04-20')
    expect(world.said.filter((one) => one.class === 'urgent').map(({ on, stage }) => `${on} ${stage}`)).toEqual([
      '2026-04-14 safety_finding',
    ])
    expect(world.open('look')).toMatchObject({ kind: 'finding', dueOn: dayOf('2026-04-14') })
  })

  it('a safety finding that names no task falls to the outside look of that machine', () => {
    const look = smallCare('look', [{ kind: 'calendar_month' }], { safetyCheck: true })
    const world = new World([taskOf('interlock', [months(6)], { safetyCheck: true }), look])
    world.add('m', { last: { look: '2026-04-02', interlock: '2026-03-01' } })
    const finding = {
      findingId: 'f',
      serviceTaskId: null,
      foundOn: dayOf('2026-04-14'),
      dueOn: null,
      withinDays: null,
      safety: true,
      text: 'Smell.',
    }
    world.change('m', { findings: [finding] })
    world.plan('2026-04-14')
    expect(world.said.map(({ task, stage }) => `${task} ${stage}`)).toContain('look safety_finding')
    expect(world.open('interlock')).toBeNull()
  })
})

describe('not in service, and back (rules 15, 17)', () => {
  it('the wake-up list holds the monthly care and looks too, once, and the month goes on afterwards', () => {
    const look = smallCare('look', [{ kind: 'calendar_month' }], { safetyCheck: true })
    const world = new World([look, smallCare('felt'), chain]).add('m', {
      last: { look: '2026-01-05', felt: '2026-01-05', chain: '2025-12-01' },
    })
    world.plan('2026-01-10')
    world.setStatus('m', 'on_the_shelf', '2026-01-12')
    world.planDaily('2026-01-12', '2026-05-10')
    expect(world.said).toEqual([])
    world.setStatus('m', 'in_service', '2026-05-11')
    world.planDaily('2026-05-11', '2026-05-20')
    expect(['look', 'felt', 'chain'].map((task) => world.open(task)?.kind)).toEqual(['wake_up', 'wake_up', 'wake_up'])
    expect(world.sayings()).toEqual(Array(3).fill('2026-05-11 due first'))
    for (const task of ['look', 'felt', 'chain']) world.finish(task, '2026-05-20')
    world.planDaily('2026-05-21', '2026-06-02')
    expect(world.open('felt')).toMatchObject({ kind: 'monthly', openedOn: dayOf('2026-06-01') })
    expect(world.open('chain')).toBeNull()
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2026-11-20')
  })

  it('work under way on the bench stays open; the rest is superseded', () => {
    const world = new World([chain, taskOf('wheel', [months(6)])]).add('m', { last: { chain: '2026-01-10', wheel: '2026-01-10' } })
    world.planDaily('2026-07-01', '2026-07-06')
    world.underWay('chain', '2026-07-06')
    world.setStatus('m', 'at_the_bench', '2026-07-07')
    world.planDaily('2026-07-07', '2026-09-30')
    expect(world.open('chain')).not.toBeNull()
    expect(world.ended.map(({ task, on }) => `${task} ${on}`)).toEqual(['wheel 2026-07-07'])
    expect(world.sayings().filter((words) => words > '2026-07-07')).toEqual([])
  })

  it('tagged out for a worn part: the task stays open and is on the list when the machine comes back', () => {
    const replace = taskOf('replace', [{ kind: 'wear' }, { kind: 'finding' }], { componentKey: 'motor_brush_set' })
    const world = new World([replace]).add('m')
    const finding = {
      findingId: 'f',
      serviceTaskId: 'replace',
      foundOn: dayOf('2026-04-14'),
      dueOn: dayOf('2026-04-14'),
      withinDays: null,
      safety: false,
      text: '6.0 mm',
    }
    world.change('m', { findings: [finding] })
    world.plan('2026-04-14')
    world.setStatus('m', 'tagged_out', '2026-04-14')
    world.planDaily('2026-04-15', '2026-04-30')
    expect(world.open('replace')).toMatchObject({ kind: 'finding', sequence: 1 })
  })
})

describe('first looks and new machines (rule 18)', () => {
  it('are spread over the open days of one interval, at most 26 weeks, and bar no day of a peak', () => {
    const world = new World([taskOf('blade', [months(12)])])
    for (let index = 0; index < 400; index++) world.add(`machine ${index}`, { registeredOn: dayOf('2026-09-01') })
    world.plan('2026-09-01')
    const days = world.plans.map(({ forecasts }) => forecasts[0]?.likelyOn ?? 0)
    const weeks = new Map<number, number>()
    for (const day of days) weeks.set(Math.floor((day + 3) / 7), (weeks.get(Math.floor((day + 3) / 7)) ?? 0) + 1)
    expect(Math.min(...days)).toBeGreaterThanOrEqual(dayOf('2026-09-08'))
    expect(Math.max(...days)).toBeLessThanOrEqual(dayOf('2026-09-08') + 182)
    expect(days.filter((day) => day >= dayOf('2026-11-15') && day <= dayOf('2026-12-29'))).toEqual([])
    // 400 over 19 and some open weeks are 20 to 21 a week; a Poisson count of 21 passes 42 about once in 40 000.
    expect(Math.max(...weeks.values())).toBeLessThan(42)
    expect(world.plans.every(({ forecasts }) => forecasts[0]?.state === 'first_look')).toBe(true)
  })

  it('a machine commissioned new counts from that date, and nothing is asked for at once', () => {
    const look = smallCare('look', [{ kind: 'calendar_month' }], { safetyCheck: true })
    const world = new World([chain, smallCare('felt'), look]).add('m', {
      registeredOn: dayOf('2026-03-10'),
      commissionedOn: dayOf('2026-03-05'),
    })
    world.planDaily('2026-03-10', '2026-03-31')
    expect(world.said).toEqual([])
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2026-09-05')
    world.plan('2026-04-01')
    expect(world.open('felt')?.kind).toBe('monthly')
  })

  it('an old machine with a known commissioning date: what would have been due before registration is not known', () => {
    const yearly = taskOf('blade', [months(12)])
    const world = new World([chain, yearly]).add('m', { registeredOn: dayOf('2026-09-10'), commissionedOn: dayOf('2026-01-15') })
    world.plan('2026-09-10')
    expect(world.forecast('chain').state).toBe('first_look')
    expect(world.forecast('blade')).toMatchObject({ state: 'dated', likelyOn: dayOf('2027-01-15') })
  })

  it('a task that is new in the plan is spread from the day of the change, and asked for once', () => {
    const fresh = taskOf('fresh', [months(1)], { intervalBefore: { months: null, use: null, changedOn: dayOf('2026-04-01') } })
    const world = new World([fresh]).add('m', { registeredOn: dayOf('2024-01-01') })
    world.planDaily('2026-04-01', '2026-06-15')
    expect(world.open('fresh')).toMatchObject({ kind: 'first_look', sequence: 1 })
    expect(world.open('fresh')!.nominalOn).toBeGreaterThanOrEqual(dayOf('2026-04-08'))
    expect(world.open('fresh')!.nominalOn).toBeLessThanOrEqual(dayOf('2026-05-08'))
  })

  it('a first look that was done leads into the rhythm', () => {
    const world = new World([chain]).add('m', { registeredOn: dayOf('2026-01-05') })
    for (let day = dayOf('2026-01-05'); world.open('chain') === null; day++) world.plan(day)
    world.finish('chain', dateOf(world.today))
    const doneOn = world.today
    world.plan(doneOn + 1)
    expect(world.forecast('chain').state).toBe('dated')
    expect((world.forecast('chain').likelyOn ?? 0) - doneOn).toBeGreaterThan(180)
  })
})

describe('components (rules 2, 15)', () => {
  const set = { componentKey: 'motor_brush_set', newOn: null, fittedOn: null, usedStripsBefore: 0, stripsTotalAtFitting: null, lengths: [] }
  const measure = taskOf('measure', [months(6)], { componentKey: 'motor_brush_set', measures: true, minutes: 10 })

  it('a part fitted new starts its clocks that day', () => {
    const world = new World([measure]).add('m', { last: { measure: '2026-01-10' } })
    world.fit('m', { ...set, componentId: 'old' })
    world.plan('2026-03-01')
    const fitted = { ...set, componentId: 'new', newOn: dayOf('2026-03-02'), fittedOn: dayOf('2026-03-02'), stripsTotalAtFitting: 0 }
    world.fit('m', fitted)
    // What was done to the old set is not this set's: the reader leaves it out.
    const state = world.input().machines[0]!
    expect(state.lastDone.measure).toBeDefined()
    world.forget('m', 'measure')
    world.plan('2026-03-02')
    expect(dateOf(world.forecast('measure').likelyOn ?? 0)).toBe('2026-09-02')
  })

  it('an open occurrence of a part that was taken out ends', () => {
    const world = new World([measure]).add('m', { last: { measure: '2026-01-10' } })
    world.fit('m', { ...set, componentId: 'old' })
    world.planDaily('2026-07-01', '2026-07-05')
    world.change('m', { components: [] })
    world.plan('2026-07-06')
    expect(world.ended.map(({ reason }) => reason)).toEqual(['The component was moved or replaced.'])
  })

  it('new moistener brushes ask for their height at once; done on the same day they do not; motor brushes never', () => {
    const height = taskOf('height', [{ kind: 'situation', situation: 'brushes_replaced' }, months(6)], {
      componentKey: 'moistener_brush_set',
    })
    const replaced = { situations: [{ kind: 'brushes_replaced' as const, on: dayOf('2026-05-05') }] }
    const world = new World([height]).add('m', { last: { height: '2026-03-01' }, ...replaced })
    world.fit('m', { ...set, componentKey: 'moistener_brush_set', componentId: 'moist', fittedOn: dayOf('2026-05-05') })
    world.plan('2026-05-05')
    expect(world.open('height')).toMatchObject({
      kind: 'situation',
      dueOn: dayOf('2026-05-05'),
      windowTo: dayOf('2026-05-19'),
      hardLimitOn: dayOf('2026-06-04'),
    })
    const same = new World([height]).add('m', { last: { height: '2026-05-05' }, ...replaced })
    same.plan('2026-05-05')
    expect(same.open('height')).toBeNull()
    const motor = new World([height]).add('m', { last: { height: '2026-03-01' }, ...replaced })
    motor.fit('m', { ...set, componentKey: 'moistener_brush_set', componentId: 'moist', fittedOn: dayOf('2026-02-01') })
    motor.plan('2026-05-05')
    expect(motor.open('height')).toBeNull()
  })
})

describe('before a peak', () => {
  it('falls due on the last open day before it, once', () => {
    const ready = taskOf('ready', [{ kind: 'situation', situation: 'before_peak' }])
    const world = new World([ready]).add('m')
    world.planDaily('2026-10-01', '2026-11-10')
    // The peak begins on Sun 15 Nov; the last open day before it is Fri 13 Nov; it opens a week before.
    expect(world.days('ready')).toMatchObject({ opened: '2026-11-06', due: '2026-11-13' })
    world.finish('ready', '2026-11-10')
    world.planDaily('2026-11-11', '2026-12-31')
    expect(world.open('ready')).toBeNull()
    expect(world.said).toHaveLength(1)
  })
})

describe('a warehouse whose data are strange', () => {
  it('a machine with a broken type, total or evidence says so and stops no other', () => {
    const world = new World([chain]).add('good', january)
    world.add('no type', { machineTypeId: 'gone' }).add('no total', { stripsTotal: Number.NaN })
    world.add('backwards', { usage: [{ from: 10, to: 5, strips: 3, kind: 'counter', relativeError: 0 }] })
    world.plan('2026-07-03')
    expect(world.plans.map(({ machineId, problem }) => [machineId, problem === null])).toEqual([
      ['good', true],
      ['no type', false],
      ['no total', false],
      ['backwards', false],
    ])
    expect(world.open('chain', 'good')).not.toBeNull()
  })

  it('a warehouse without a single working day still has its calendar dates', () => {
    const never = { ...NO_PEAK_CALENDAR, shiftMinutes: [0, 0, 0, 0, 0, 0, 0, 0], shifts: [] }
    const world = new World([chain, smallCare('felt')], never).add('m', { last: { chain: '2026-01-10', felt: '2026-06-02' } })
    world.planDaily('2026-07-01', '2026-08-02')
    expect(dateOf(world.forecast('chain').likelyOn ?? 0)).toBe('2026-07-10')
    expect(world.types).toEqual({ type: TYPE })
  })
})
