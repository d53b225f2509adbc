/**
 * Rules 5, 18 and 19 where use decides. The arithmetic is by hand: 800 strips on each working day, Monday to Friday, and
 * 19 700 strips make 25 working days, the last not whole. The amounts are assumptions of these cases, no source.
 */
import { describe, expect, it } from '@jest/globals'
import type { LastDone, PlanTask } from '../model.js'
import { dateOf, dayOf } from '../time/day.js'
import { whyDue } from '../words/why.js'
import { completeTask, type OccurrenceToSettle } from './complete-task.js'
import { dailyUse, doneOn, machineToPlan, planningInput, planTask } from './fixtures-for-tests.js'
import { months } from './plans-for-tests.js'
import { planMachines } from './plan-machines.js'

const every = (amount: number, more: Partial<PlanTask> = {}): PlanTask =>
  planTask([{ kind: 'usage', unit: 'strips', amount }], { key: 'wheel', minutes: 15, ...more })

function likely(today: string, task: PlanTask, from: string, last: LastDone) {
  const usage = dailyUse(from, dateOf(dayOf(today) - 1), 800)
  const machine = machineToPlan({ usage, stripsTotal: usage.length * 800, lastDone: { wheel: last } })
  return planMachines(planningInput(today, [task], [machine]))[0]!.forecasts[0]!
}

/** Last done on Sunday 4 January 2026 at a total of 0; the point lies at 19 700, Friday 6 February. */
const first = doneOn('2026-01-04', { stripsTotal: 0 })
const occurrence: OccurrenceToSettle = {
  id: 'o',
  state: 'open',
  kind: 'regular',
  governing: 'usage',
  nominalOn: dayOf('2026-02-06'),
  dueOn: dayOf('2026-02-06'),
  windowFrom: dayOf('2026-02-04'),
  windowTo: dayOf('2026-02-10'),
}
const nothingElse = { newOn: null, forecast: null, fittedComponentKey: null, measured: [], units: 'si' as const }
function doneAgain(task: PlanTask, date: string, last: LastDone, more: Partial<OccurrenceToSettle> = {}) {
  const asked = { ...nothingElse, task, doneOn: dayOf(date), last, occurrence: { ...occurrence, ...more } }
  return completeTask(asked).record.useAnchor
}
function doneUnasked(task: PlanTask, date: string, likelyOn: string, governing: 'usage' | 'calendar' = 'usage') {
  const forecast = { governing, likelyOn: dayOf(likelyOn) }
  return completeTask({ ...nothingElse, task, doneOn: dayOf(date), last: first, occurrence: null, forecast }).record.useAnchor
}

describe('what follows where use governed (rule 5)', () => {
  it('done inside the window counts from the point: 18 400 strips used, 21 000 to come', () => {
    const task = every(19_700)
    const anchor = doneAgain(task, '2026-02-04', first)
    expect(anchor).toEqual({ on: dayOf('2026-01-04'), unit: 'strips', amount: 19_700 })
    const last = doneOn('2026-02-04', { stripsTotal: 18_400, useAnchor: { ...anchor!, stripsTotal: 0 } })
    const forecast = likely('2026-02-05', task, '2026-01-05', last)
    // 27 working days after 4 February: 2 in that week, 5 in each of the five weeks after it.
    expect(dateOf(forecast.likelyOn!)).toBe('2026-03-13')
    const said = { ...forecast, state: 'dated', earlyOn: '2026-03-10', likelyOn: '2026-03-13', lateOn: '2026-03-18', noLaterThan: null }
    expect(whyDue({ ...said, governingTrigger: 'usage' })).toContain('counts from its point, 1 300 strips later')
  })

  it('and again: intervals add up, so that early care does not creep', () => {
    const task = every(19_700)
    const before = doneOn('2026-02-04', {
      stripsTotal: 18_400,
      useAnchor: { on: dayOf('2026-01-04'), unit: 'strips', amount: 19_700, stripsTotal: 0 },
    })
    const march = {
      nominalOn: dayOf('2026-03-13'),
      dueOn: dayOf('2026-03-13'),
      windowFrom: dayOf('2026-03-11'),
      windowTo: dayOf('2026-03-17'),
    }
    expect(doneAgain(task, '2026-03-17', before, march)).toEqual({ on: dayOf('2026-01-04'), unit: 'strips', amount: 39_400 })
  })

  it('a new machine, never looked at before, counts from the point that its first day gave', () => {
    const asked = { ...nothingElse, task: every(19_700), doneOn: dayOf('2026-02-04'), last: null, occurrence }
    expect(completeTask({ ...asked, newOn: dayOf('2026-01-04') }).record.useAnchor).toEqual({
      on: dayOf('2026-01-04'),
      unit: 'strips',
      amount: 19_700,
    })
    expect(completeTask(asked).record.useAnchor).toBeUndefined()
  })

  it('done unasked inside the window of the point that the last pass gave: from the point; 33 days are a window of 3', () => {
    const task = every(19_700)
    const fromPoint = { on: dayOf('2026-01-04'), unit: 'strips', amount: 19_700 }
    expect(doneUnasked(task, '2026-02-03', '2026-02-06')).toEqual(fromPoint)
    expect(doneUnasked(task, '2026-02-02', '2026-02-06')).toBeUndefined()
    expect(doneUnasked(task, '2026-02-03', '2026-02-06', 'calendar')).toBeUndefined()
  })

  it('done outside the window, on a wake-up list, or where another trigger governed counts from the actual day', () => {
    const task = every(19_700)
    expect(doneAgain(task, '2026-01-21', first)).toBeUndefined()
    expect(doneAgain(task, '2026-02-20', first)).toBeUndefined()
    expect(doneAgain(task, '2026-02-04', first, { kind: 'wake_up' })).toBeUndefined()
    expect(doneAgain(task, '2026-02-04', first, { governing: 'calendar' })).toBeUndefined()
    expect(dateOf(likely('2026-02-05', task, '2026-01-05', doneOn('2026-02-04', { stripsTotal: 18_400 })).likelyOn!)).toBe('2026-03-11')
  })

  it('overrun counts: 4 300 strips over are taken off the next interval', () => {
    const task = every(19_700, { overrunCounts: true })
    const anchor = doneAgain(task, '2026-02-13', first)
    const last = doneOn('2026-02-13', { stripsTotal: 24_000, useAnchor: { ...anchor!, stripsTotal: 0 } })
    // 15 400 strips are 20 working days, the last not whole: four weeks after Friday 13 February.
    expect(dateOf(likely('2026-02-16', task, '2026-01-05', last).likelyOn!)).toBe('2026-03-13')
  })
})

describe('a machine without any evidence of use, beside twelve of its type with a counter', () => {
  const task = every(19_700)
  const plannedOn = (today: string) => {
    const usage = dailyUse('2025-01-06', dateOf(dayOf(today) - 1), 800)
    const told = Array.from({ length: 12 }, (_, index) =>
      machineToPlan({ machineId: `told${index}`, usage, stripsTotal: usage.length * 800, lastDone: { wheel: first } }),
    )
    const silent = machineToPlan({ machineId: 'silent', hasCounter: false, lastDone: { wheel: doneOn('2026-01-04') } })
    return planMachines(planningInput(today, [task], [...told, silent])).at(-1)!.forecasts[0]!
  }

  it('has the date that use of like machines gives, from the day of its care on, and it does not go along with today', () => {
    const days = ['2026-01-05', '2026-01-26', '2026-03-16'].map((today) => plannedOn(today).likelyOn)
    // 19 700 strips at 800 a working day: Friday 6 February. How far machines differ moves the middle by a day or so.
    for (const day of days) expect(Math.abs((day ?? 0) - dayOf('2026-02-06'))).toBeLessThanOrEqual(4)
    expect(Math.max(...days.map(Number)) - Math.min(...days.map(Number))).toBeLessThanOrEqual(1)
  })

  it('says what is expected of it, that this is by like machines, and how wide that leaves the date', () => {
    const { earlyOn, likelyOn, lateOn, basis, governing } = plannedOn('2026-01-26')
    // 16 working days up to today: 12 800 strips, more or less by how far machines differ.
    expect(Math.abs(Number(basis.used) - 12_800)).toBeLessThan(900)
    expect(earlyOn!).toBeLessThan(likelyOn!)
    expect(lateOn!).toBeGreaterThan(likelyOn!)
    const [early, likely, late] = [earlyOn, likelyOn, lateOn].map((day) => dateOf(day!)) as [string, string, string]
    const why = whyDue({
      state: 'dated',
      earlyOn: early,
      likelyOn: likely,
      lateOn: late,
      noLaterThan: null,
      governingTrigger: governing,
      basis,
      reason: null,
    })
    expect(why).toMatch(
      /about 1[23] \d00 of 19 700 strips since 4 Jan 2026, about 800 a working day \(no evidence of its own; use of like machines\)/,
    )
  })
})

describe('a changed plan where use decides (rule 19)', () => {
  const changed = (now: number, before: number, changedOn: string) =>
    every(now, { intervalBefore: { months: null, use: { unit: 'strips', amount: before }, changedOn: dayOf(changedOn) } })

  it('10 000 → 20 000 with 8 000 used: the present point stays, 2 000 strips on', () => {
    const task = changed(20_000, 10_000, '2026-01-17')
    expect(dateOf(likely('2026-01-19', task, '2026-01-05', first).likelyOn!)).toBe('2026-01-21')
  })

  it('40 000 → 10 000 with 24 000 used: a day within four weeks of the change, and the same day after it', () => {
    const task = changed(10_000, 40_000, '2026-02-14')
    const on = ['2026-02-16', '2026-02-17', '2026-02-20'].map((today) => likely(today, task, '2026-01-05', first))
    const days = on.map(({ likelyOn }) => likelyOn!)
    expect(new Set(days).size).toBe(1)
    expect(days[0]!).toBeGreaterThan(dayOf('2026-02-14'))
    expect(days[0]!).toBeLessThanOrEqual(dayOf('2026-03-14'))
  })

  it('40 000 → 30 000 with 8 000 used: the new amount holds at once', () => {
    const task = changed(30_000, 40_000, '2026-01-17')
    // 22 000 strips to come are 27.5 working days after Friday 16 January: the 28th is Wednesday 25 February.
    expect(dateOf(likely('2026-01-19', task, '2026-01-05', first).likelyOn!)).toBe('2026-02-25')
  })
})

describe('first looks within the hours there are (rule 18)', () => {
  const task = planTask([months(6)], { key: 'chain', minutes: 60 })
  const machines = Array.from({ length: 400 }, (_, index) => machineToPlan({ machineId: `m${index}`, registeredOn: dayOf('2026-03-02') }))
  const looks = (technicianHoursAWeek: number | null) => {
    const registered = [{ machineTypeId: 'type', registeredOn: dayOf('2026-03-02'), machines: machines.length }]
    const firstRound = technicianHoursAWeek === null ? null : { technicianHoursAWeek, registered }
    return planMachines(planningInput('2026-03-02', [task], machines, { firstRound })).map(({ forecasts }) => forecasts[0]!.likelyOn!)
  }
  const span = (days: readonly number[]) => Math.max(...days) - Math.min(...days)

  it('400 looks of an hour take 26 weeks where nobody knows the hours, and 40 weeks where there are 10 hours a week', () => {
    expect(span(looks(null))).toBeLessThanOrEqual(182)
    const days = looks(10)
    // 129 open days at 3.1 hours each would be 15.5 hours a week: spread over 200, of which the peak bars those from 15 November to 29 December.
    expect(span(days)).toBeGreaterThan(40 * 7)
    const inMonth = (month: number) => days.filter((day) => Math.floor((day - dayOf('2026-03-09')) / 28) === month).length
    // Four weeks hold 40 hours; chance may add three standard deviations (6.2 each) of a count spread evenly.
    for (let month = 0; month < 12; month++) expect(inMonth(month)).toBeLessThanOrEqual(40 + 19)
  })

  it('enough hours change nothing', () => expect(looks(1000)).toEqual(looks(null)))
})
