/**
 * The worked cases of the rules of dates. The arithmetic is by hand and by a calendar; intervals and limits are common
 * practice and assumptions, no source. Working days Monday to Friday; closed 25 December and 1 January; a 'no visits'
 * peak 15 November to 29 December 2026.
 */
import { describe, expect, it } from '@jest/globals'
import { makeDayTable } from '../calendar/day-table.js'
import type { MachineToPlan, OccurrenceChange, OpenOccurrence, PlanTask } from '../model.js'
import { checkPutOff, checkSkip } from '../rules/decisions.js'
import { dateOf, dayOf } from '../time/day.js'
import { dailyUse, doneOn, FACTS, machineToPlan, planningInput, planTask } from './fixtures-for-tests.js'
import { WORKED_CASES_CALENDAR, months } from './plans-for-tests.js'
import { planMachines } from './plan-machines.js'

const table = makeDayTable(WORKED_CASES_CALENDAR, dayOf('2024-01-01'), dayOf('2029-01-01'))
const plan = (today: string, tasks: PlanTask[], machine: MachineToPlan) => planMachines(planningInput(today, tasks, [machine]))[0]!
const opens = (changes: readonly OccurrenceChange[]) => changes.filter((change) => change.do === 'open')

/** An occurrence as it stands after `change` was written on `today`. */
function written(change: OccurrenceChange | undefined, today: string): OpenOccurrence {
  if (change?.do !== 'open') throw new Error('nothing was opened')
  const said = change.say.filter(({ sayOn }) => sayOn <= dayOf(today))
  return {
    ...change,
    id: 'open',
    openedOn: dayOf(today),
    saidOn: said.length > 0 ? dayOf(today) : null,
    saidDueOn: said.length > 0 ? change.dueOn : null,
    saidStages: said.map(({ stage }) => stage),
    underWaySince: null,
    lastEntryOn: null,
  }
}

describe('safety checks (rule 7)', () => {
  const interlock = planTask([months(6)], { key: 'interlock', safetyCheck: true })

  it('point Fri 25 Dec 2026: shifted to Fri 13 Nov; do not use from 26 Dec', () => {
    const machine = machineToPlan({ lastDone: { interlock: doneOn('2026-06-25') } })
    const [opened] = opens(plan('2026-11-06', [interlock], machine).changes)
    expect(opened).toMatchObject({
      nominalOn: dayOf('2026-12-25'),
      dueOn: dayOf('2026-11-13'),
      windowTo: dayOf('2026-12-25'),
      lateFrom: dayOf('2026-12-26'),
    })
  })

  it('with no open day before it, goes to a person', () => {
    const machine = machineToPlan({ lastDone: { interlock: doneOn('2026-06-25') } })
    expect(opens(plan('2026-12-18', [interlock], machine).changes)[0]).toMatchObject({ needsPerson: true, dueOn: dayOf('2026-12-25') })
  })

  it('electrical check skipped for no time: refused', () => {
    const decided = { safetyCheck: true, monthlyListed: false, care: 'long' as const, hardLimitOn: null }
    expect(checkSkip(decided, { today: dayOf('2026-05-05'), role: 'administrator', reason: 'no time' })).toMatchObject({
      allowed: false,
      code: 'SAFETY_CHECK',
    })
    expect(
      checkPutOff(table, decided, {
        until: dayOf('2026-05-12'),
        today: dayOf('2026-05-05'),
        role: 'administrator',
        reason: 'no time',
        newHardLimitOn: null,
      }),
    ).toMatchObject({ code: 'SAFETY_CHECK' })
  })
})

describe('not in service (rule 17)', () => {
  it('interlock check opened 24 Jun, on the shelf 25 Jun – 25 Nov: superseded, then one wake-up with it and what falls before 25 Dec', () => {
    const interlock = planTask([months(6)], { key: 'interlock', safetyCheck: true })
    const chain = planTask([months(6)], { key: 'chain', minutes: 15 })
    const blade = planTask([months(12)], { key: 'blade', minutes: 15 })
    const lastDone = { interlock: doneOn('2026-01-01'), chain: doneOn('2026-06-10'), blade: doneOn('2026-03-01') }
    const opened = written(opens(plan('2026-06-24', [interlock], machineToPlan({ lastDone })).changes)[0], '2026-06-24')
    expect(dateOf(opened.nominalOn)).toBe('2026-07-01')
    const shelf = machineToPlan({
      lastDone,
      open: { interlock: opened },
      sequences: { interlock: 1 },
      status: 'on_the_shelf',
      statusSince: dayOf('2026-06-25'),
    })
    expect(plan('2026-06-25', [interlock, chain, blade], shelf).changes).toEqual([
      { do: 'supersede', occurrenceId: 'open', reason: 'Not in service.', missed: false },
    ])
    expect(plan('2026-06-25', [interlock], shelf).forecasts[0]!.state).toBe('paused')
    const back = machineToPlan({
      lastDone,
      sequences: { interlock: 1 },
      statusSince: dayOf('2026-11-25'),
      situations: [{ kind: 'back_in_service', on: dayOf('2026-11-25') }],
    })
    const woken = opens(plan('2026-11-25', [interlock, chain, blade], back).changes)
    expect(woken.map((change) => (change as { serviceTaskId: string }).serviceTaskId)).toEqual(['interlock', 'chain'])
    for (const change of woken) expect(change).toMatchObject({ kind: 'wake_up', dueOn: dayOf('2026-11-25'), lateFrom: null })
  })
})

describe('changed plan (rule 19)', () => {
  const after = (monthsNow: number, before: number, last: string, changedOn: string) =>
    plan(
      changedOn,
      [
        planTask([months(monthsNow)], {
          key: 'chain',
          minutes: 15,
          intervalBefore: { months: before, use: null, changedOn: dayOf(changedOn) },
        }),
      ],
      machineToPlan({ lastDone: { chain: doneOn(last) } }),
    ).forecasts[0]!

  it('6 → 12 months with 5 used: the present date stays', () => {
    expect(dateOf(after(12, 6, '2026-01-10', '2026-06-10').likelyOn!)).toBe('2026-07-10')
  })

  it('12 → 6 months with 8 used: a day within four weeks of the change', () => {
    const { likelyOn } = after(6, 12, '2026-01-10', '2026-09-10')
    expect(likelyOn!).toBeGreaterThan(dayOf('2026-09-10'))
    expect(likelyOn!).toBeLessThanOrEqual(dayOf('2026-10-08'))
  })
})

describe('moved components (rule 2)', () => {
  const look = planTask([{ kind: 'usage', unit: 'strips', amount: 20_000 }], { key: 'look', componentKey: 'moistener_brush_set' })
  const usage = dailyUse('2026-01-05', '2026-04-03', 800)
  const set = {
    componentId: 'set',
    componentKey: 'moistener_brush_set',
    newOn: null,
    fittedOn: dayOf('2026-04-03'),
    usedStripsBefore: 0,
    stripsTotalAtFitting: null,
    lengths: [],
  }

  it('a set with 15 000 strips since its look: the look is due after 5 000 more; the open one is superseded', () => {
    const total = 51_200
    const old = {
      ...written(
        opens(
          plan(
            '2026-04-06',
            [look],
            machineToPlan({
              usage,
              stripsTotal: total,
              lastDone: { look: doneOn('2026-03-09', { stripsTotal: total - 19_500 }) },
              components: [{ ...set, componentId: 'other' }],
            }),
          ).changes,
        )[0],
        '2026-04-06',
      ),
    }
    const machine = machineToPlan({
      usage,
      stripsTotal: total,
      lastDone: { look: doneOn('2026-03-02', { stripsTotal: total - 15_000 }) },
      components: [set],
      open: { look: old },
      sequences: { look: 1 },
    })
    const { forecasts, changes } = plan('2026-04-06', [look], machine)
    expect(forecasts[0]!.basis).toMatchObject({ used: 15_000 })
    // 5 000 strips at 800 a working day: 6.25 days from Mon 6 April, so Tue 14 April.
    expect(Math.abs(forecasts[0]!.likelyOn! - dayOf('2026-04-14'))).toBeLessThanOrEqual(1)
    expect(changes[0]).toMatchObject({ do: 'supersede', occurrenceId: 'open' })
  })
})

describe('the forecast moves (rules 10, 12)', () => {
  const look = planTask([{ kind: 'usage', unit: 'strips', amount: 100_000 }], { key: 'look' })
  const at = (today: string, likely: string, open: Partial<OpenOccurrence>) => {
    const usage = dailyUse('2025-10-01', '2026-04-08', 800)
    const total = usage.reduce((sum, { strips }) => sum + strips, 0)
    const finding = {
      findingId: 'f',
      serviceTaskId: 'look',
      foundOn: dayOf('2026-01-05'),
      dueOn: dayOf(likely),
      withinDays: null,
      safety: false,
      text: 'worn',
    }
    const occurrence: OpenOccurrence = {
      id: 'open',
      sequence: 1,
      kind: 'finding',
      openedOn: dayOf('2026-03-01'),
      nominalOn: dayOf('2026-05-12'),
      windowFrom: dayOf('2026-05-12'),
      windowTo: dayOf('2026-05-26'),
      hardLimitOn: dayOf('2026-06-11'),
      dueOn: dayOf('2026-05-12'),
      lateFrom: dayOf('2026-05-27'),
      governing: 'finding',
      saidOn: dayOf('2026-04-01'),
      saidDueOn: dayOf('2026-05-12'),
      saidStages: ['coming_due'],
      underWaySince: null,
      lastEntryOn: null,
      componentId: null,
      ...open,
    }
    return plan(
      today,
      [{ ...look, triggers: [{ kind: 'finding' }] }],
      machineToPlan({ usage, stripsTotal: total, findings: [finding], open: { look: occurrence }, sequences: { look: 1 } }),
    ).changes
  }

  it('coming due said for 12 May; on 9 Apr it becomes earlier: said once, lateness counts from that message, passed on 12, 16, 23 Apr', () => {
    const [moved] = at('2026-04-09', '2026-03-10', {})
    expect(moved).toMatchObject({ do: 'redate', lateFrom: dayOf('2026-04-10'), nominalOn: dayOf('2026-03-10') })
    expect((moved as unknown as { say: { stage: string }[] }).say.map(({ stage }) => stage)).toContain('earlier_than_said')
    const { nominalOn, windowFrom, windowTo, hardLimitOn, dueOn } = moved as unknown as OpenOccurrence
    const since = {
      nominalOn,
      windowFrom,
      windowTo,
      hardLimitOn: null,
      dueOn,
      lateFrom: dayOf('2026-04-10'),
      saidStages: ['coming_due', 'earlier_than_said', 'late', 'past_hard_limit'] as const,
    }
    void hardLimitOn
    const passedOn = ['2026-04-10', '2026-04-11', '2026-04-12', '2026-04-15', '2026-04-16', '2026-04-22', '2026-04-23'].map(
      (today) =>
        at(today, '2026-03-10', since)
          .flatMap((change) => ('say' in change ? change.say.map(({ stage }) => stage) : []))
          .filter((stage) => stage.startsWith('passed_on')).length,
    )
    expect(passedOn).toEqual([0, 0, 1, 1, 2, 2, 3])
  })

  it('due said for 12 May; on 13 May it becomes 12 Aug: superseded, nothing open until August', () => {
    const changes = at('2026-05-13', '2026-08-12', { saidStages: ['coming_due', 'due'] })
    expect(changes).toEqual([{ do: 'supersede', occurrenceId: 'open', reason: 'The forecast moved later.', missed: false }])
  })

  it('before anything was said it moves silently', () => {
    const [moved] = at('2026-04-09', '2026-05-02', { saidOn: null, saidDueOn: null, saidStages: [] })
    expect(moved).toMatchObject({ do: 'redate', nominalOn: dayOf('2026-05-02') })
  })
})

describe('wear (rule 15)', () => {
  const replace = planTask([{ kind: 'wear' }, { kind: 'finding' }], { key: 'replace', componentKey: 'motor_brush_set', minutes: 20 })
  const measuring = planTask([months(6)], { key: 'measure', componentKey: 'motor_brush_set', measures: true })
  const usage = dailyUse('2025-10-01', '2026-04-03', 800)
  const total = usage.reduce((sum, { strips }) => sum + strips, 0)
  const set = (lengths: readonly [string, number, number][]) => ({
    componentId: 'set',
    componentKey: 'motor_brush_set',
    newOn: dayOf('2025-01-01'),
    fittedOn: dayOf('2025-01-01'),
    usedStripsBefore: 0,
    stripsTotalAtFitting: -180_000,
    lengths: lengths.map(([on, lengthMm, usedStrips]) => ({ on: dayOf(on), lengthMm, usedStrips, stripsTotal: usedStrips - 180_000 })),
  })
  const machine = (lengths: readonly [string, number, number][], more: Partial<MachineToPlan> = {}) =>
    machineToPlan({ usage, stripsTotal: total, lastDone: { measure: doneOn('2026-03-02') }, components: [set(lengths)], ...more })

  it('a set never measured: measuring falls due, never replacing', () => {
    const [replacing, look] = plan('2026-04-06', [replace, measuring], machine([])).forecasts
    expect([replacing!.state, replacing!.likelyOn]).toEqual(['no_date', null])
    expect(look!.likelyOn).not.toBeNull()
  })

  it('measured twice: replacing is due at the likely crossing, with a no-later-than after it', () => {
    const [replacing] = plan(
      '2026-04-06',
      [replace, measuring],
      machine([
        ['2025-09-01', 11.3, 160_000],
        ['2026-03-02', 10.3, 270_000],
      ]),
    ).forecasts
    expect(replacing!.state).toBe('dated')
    expect(replacing!.earlyOn!).toBeLessThanOrEqual(replacing!.likelyOn!)
    expect(replacing!.likelyOn!).toBeLessThanOrEqual(replacing!.lateOn!)
    expect(replacing!.noLaterThan!).toBeGreaterThan(replacing!.likelyOn!)
  })

  it('measured 9.3 mm: replacing as a finding, dated no later than', () => {
    const finding = {
      findingId: 'f',
      serviceTaskId: 'replace',
      foundOn: dayOf('2026-03-02'),
      dueOn: null,
      withinDays: null,
      safety: false,
      text: '9.3 mm',
    }
    const { forecasts } = plan(
      '2026-04-06',
      [replace, measuring],
      machine(
        [
          ['2025-09-01', 11.0, 160_000],
          ['2026-03-02', 9.3, 270_000],
        ],
        { findings: [finding] },
      ),
    )
    expect(forecasts[0]!.governing).toBe('finding')
    expect(forecasts[0]!.likelyOn).toBe(forecasts[0]!.noLaterThan)
  })

  it('measured weeks after the last reading: worn by what was cut in between, too', () => {
    const dueWhenReadTo = (readTo: string) => {
      const read = dailyUse('2025-10-01', readTo, 800)
      const usedBy = (day: string) => 180_000 + read.reduce((sum, { to, strips }) => sum + (to <= dayOf(day) ? strips : 0), 0)
      const lengths = (['2025-12-01', '2026-04-03'] as const).map((on, index) => [on, 11 - 0.7 * index, usedBy(on)] as const)
      const asRead = machineToPlan({
        usage: read,
        stripsTotal: usedBy(readTo) - 180_000,
        lastDone: { measure: doneOn('2026-04-03') },
        components: [set(lengths.map((one) => [...one]))],
      })
      return plan('2026-04-06', [replace, measuring], asRead).forecasts[0]!
    }
    const [known, behind] = [dueWhenReadTo('2026-04-03'), dueWhenReadTo('2026-02-27')]
    expect(Math.abs(behind.likelyOn! - known.likelyOn!)).toBeLessThan(4)
    expect(Math.abs(behind.earlyOn! - known.earlyOn!)).toBeLessThan(8)
  })

  it('a set whose fitting day is not known has no wear date before its first measurement', () => {
    const unknown = { ...set([]), newOn: null, stripsTotalAtFitting: null }
    const [replacing] = plan('2026-04-06', [replace], machineToPlan({ usage, stripsTotal: total, components: [unknown] })).forecasts
    expect(replacing).toMatchObject({ state: 'no_date', likelyOn: null })
  })
})

describe('life (rule 16)', () => {
  const inspect = planTask([months(12), { kind: 'life', failedFraction: 0.1 }], { key: 'inspect', componentKey: 'blade', minutes: 15 })
  const life = { blade: { shape: 2.934, scaleYears: 13.76, removals: 0, failures: 0, shapeLower95: null } }
  const blade = (newOn: string | null) => ({
    componentId: 'b',
    componentKey: 'blade',
    newOn: newOn === null ? null : dayOf(newOn),
    fittedOn: null,
    usedStripsBefore: 0,
    stripsTotalAtFitting: null,
    lengths: [],
  })
  const forecast = (newOn: string | null) =>
    planMachines(
      planningInput('2026-04-06', [inspect], [machineToPlan({ lastDone: { inspect: doneOn('2026-03-01') }, components: [blade(newOn)] })], {
        life,
      }),
    )[0]!.forecasts[0]!

  it('age not known: the yearly look only', () => {
    expect(forecast(null)).toMatchObject({ governing: 'calendar', likelyOn: dayOf('2027-03-01') })
  })

  it('ten years old at the last look: 10 % of such blades fail within about 0.85 years (trade range 5 to 20 years, common practice)', () => {
    // 13.76 · ((10 / 13.76)^2.934 − ln 0.9)^(1 / 2.934) = 10.85 years
    const { governing, likelyOn } = forecast('2016-03-01')
    expect(governing).toBe('life')
    expect(Math.abs(likelyOn! - (dayOf('2016-03-01') + 10.85 * 365.25))).toBeLessThan(6)
  })
})

describe('a broken machine', () => {
  it('is marked with the reason and stops no other', () => {
    const chain = planTask([months(6)], { key: 'chain' })
    const good = machineToPlan({ lastDone: { chain: doneOn('2026-01-10') } })
    const broken = machineToPlan({ machineId: 'broken', stripsTotal: Number.NaN })
    const plans = planMachines(planningInput('2026-04-06', [chain], [broken, good]))
    expect(plans[0]).toMatchObject({ machineId: 'broken', problem: expect.stringContaining('no number') })
    expect(plans[0]!.forecasts[0]!.state).toBe('cannot_be_computed')
    expect(plans[1]!.forecasts[0]!.likelyOn).toBe(dayOf('2026-07-10'))
    expect(FACTS.machineTypeId).toBe('type')
  })
})
