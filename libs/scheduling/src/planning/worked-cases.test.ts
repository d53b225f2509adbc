/**
 * The worked cases of the rules of dates. The arithmetic is by hand and by a calendar; intervals and limits are common
 * practice and assumptions, no source. Working days Monday to Friday; closed 25 December and 1 January; a 'no visits'
 * peak 15 November to 29 December 2026.
 */
import { describe, expect, it } from '@jest/globals'
import { makeDayTable } from '../calendar/day-table.js'
import type { MachineToPlan, OccurrenceChange, OpenOccurrence, PlanTask } from '../model.js'
import { anchorAfterDone, hardLimitAfter, nextPoint, windowOf } from '../rules/points.js'
import { urgentOn } from '../rules/escalation.js'
import { checkPutOff } from '../rules/decisions.js'
import { dateOf, dayOf } from '../time/day.js'
import { type ExplainedForecast, whyDue } from '../words/why.js'
import { dailyUse, doneOn, felt, machineToPlan, planningInput, planTask } from './fixtures-for-tests.js'
import { WORKED_CASES_CALENDAR, months } from './plans-for-tests.js'
import { planMachines } from './plan-machines.js'
import { World } from './world-for-tests.js'

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

const trigger = { kind: 'calendar', months: 6, mode: 'nominal' } as const
const january = { anchorOn: dayOf('2026-01-10'), anchorSteps: 0 }
const july = { nominalOn: dayOf('2026-07-10'), dueOn: dayOf('2026-07-10'), windowFrom: dayOf('2026-06-22'), windowTo: dayOf('2026-07-28') }
function nextAfter(done: string, overrunCounts = false): string {
  const anchor = anchorAfterDone(trigger, january, dayOf(done), july, { governed: true, overrunCounts })
  return dateOf(nextPoint(trigger, anchor, dayOf(done)).nominalOn)
}

describe('windows and limits (rules 3, 4)', () => {
  it('90, 180, 360 days: windows ± 9, 18, 36', () => {
    expect([90, 180, 360].map(windowOf)).toEqual([9, 18, 36])
  })

  it('6 months, last done 10 Jan 2026: point 10 Jul (181 days), window 22 Jun – 28 Jul, hard limit 24 Aug', () => {
    const point = nextPoint(trigger, january, january.anchorOn)
    expect([dateOf(point.nominalOn), point.lengthDays]).toEqual(['2026-07-10', 181])
    expect([dateOf(point.nominalOn - windowOf(181)), dateOf(point.nominalOn + windowOf(181))]).toEqual(['2026-06-22', '2026-07-28'])
    expect(dateOf(january.anchorOn + hardLimitAfter(181))).toBe('2026-08-24')
  })
})

describe('what follows (rule 5)', () => {
  it('done 8 Jul: next point 10 Jan 2027', () => expect(nextAfter('2026-07-08')).toBe('2027-01-10'))
  it('done 20 Jun (20 days early): next 20 Dec 2026', () => expect(nextAfter('2026-06-20')).toBe('2026-12-20'))
  it('done 5 Aug (late): next 5 Feb 2027', () => expect(nextAfter('2026-08-05')).toBe('2027-02-05'))
  it('done 5 Aug, overrun counts: next 10 Jan 2027', () => expect(nextAfter('2026-08-05', true)).toBe('2027-01-10'))

  it('monthly from 31 Aug 2026, anchored: 30 Sep, 31 Oct, 30 Nov, 31 Dec, 31 Jan, 28 Feb, 31 Mar', () => {
    const anchored = { kind: 'calendar', months: 1, mode: 'anchored', anchoredOn: '2026-08-31' } as const
    const dates: string[] = []
    let last = dayOf('2026-08-31')
    for (let n = 0; n < 7; n++) {
      last = nextPoint(anchored, { anchorOn: last, anchorSteps: 0 }, last).nominalOn
      dates.push(dateOf(last))
    }
    expect(dates).toEqual(['2026-09-30', '2026-10-31', '2026-11-30', '2026-12-31', '2027-01-31', '2027-02-28', '2027-03-31'])
  })
})

describe('monthly small care (rule 6)', () => {
  const task = felt()
  const oiled = (date: string) => machineToPlan({ lastDone: { felt: doneOn(date) } })

  it('oiled 3 Mar: March is settled; April opens on Wed 1 April', () => {
    expect(opens(plan('2026-03-31', [task], oiled('2026-03-03')).changes)).toEqual([])
    const [opened] = opens(plan('2026-04-01', [task], oiled('2026-03-03')).changes)
    expect(opened).toMatchObject({ kind: 'monthly', dueOn: dayOf('2026-04-30'), lateFrom: null, hardLimitOn: null })
  })

  it('oiled 2 Apr: May opens on Fri 1 May where it is worked, else on Mon 4 May', () => {
    expect(opens(plan('2026-05-01', [task], oiled('2026-04-02')).changes)).toHaveLength(1)
    const closed = {
      ...WORKED_CASES_CALENDAR,
      closures: [...WORKED_CASES_CALENDAR.closures, { from: dayOf('2026-05-01'), to: dayOf('2026-05-01') }],
    }
    const onDay = (today: string) =>
      opens(planMachines(planningInput(today, [task], [oiled('2026-04-02')], { calendar: closed }))[0]!.changes)
    expect([onDay('2026-05-01'), onDay('2026-05-03'), onDay('2026-05-04')].map((list) => list.length)).toEqual([0, 0, 1])
  })

  it('March missed: superseded, counted as missed, on 1 April; oiled 3 Apr: April is settled', () => {
    const march = written(opens(plan('2026-03-02', [task], oiled('2026-02-10')).changes)[0], '2026-03-02')
    const open = machineToPlan({ lastDone: { felt: doneOn('2026-02-10') }, open: { felt: march }, sequences: { felt: 1 } })
    const { changes } = plan('2026-04-01', [task], open)
    expect(changes[0]).toMatchObject({ do: 'supersede', missed: true })
    expect(changes[1]).toMatchObject({ do: 'open', sequence: 2, kind: 'monthly' })
    expect(opens(plan('2026-04-30', [task], oiled('2026-04-03')).changes)).toEqual([])
  })

  it('says the list once, then one line in the last week, and nothing else', () => {
    const march = written(opens(plan('2026-03-02', [task], oiled('2026-02-10')).changes)[0], '2026-03-02')
    expect(march.saidStages).toEqual(['month_list'])
    const later = (today: string, stages = march.saidStages) =>
      plan(
        today,
        [task],
        machineToPlan({
          lastDone: { felt: doneOn('2026-02-10') },
          open: { felt: { ...march, saidStages: stages } },
          sequences: { felt: 1 },
        }),
      ).changes
    expect(later('2026-03-16')).toEqual([])
    expect(later('2026-03-25')).toMatchObject([{ do: 'say', say: [{ stage: 'month_last_week' }] }])
    expect(later('2026-03-26', ['month_list', 'month_last_week'])).toEqual([])
  })

  it('20 000 strips or calendar month, 800 a working day, done Fri 3 Apr 2026: use governs, Fri 8 May', () => {
    const look = planTask([{ kind: 'calendar_month' }, { kind: 'usage', unit: 'strips', amount: 20_000 }], {
      key: 'look',
      skill: 'instructed',
      reach: 'outside',
    })
    const usage = dailyUse('2026-01-05', '2026-04-03', 800)
    const total = usage.reduce((sum, { strips }) => sum + strips, 0)
    const machine = machineToPlan({ usage, stripsTotal: total, lastDone: { look: doneOn('2026-04-03', { stripsTotal: total }) } })
    const forecast = plan('2026-04-06', [look], machine).forecasts[0]!
    expect(forecast.governing).toBe('usage')
    // 25 working days of 800 are 20 000 at the end of 8 May; the median of a skewed sum may lie one working day later.
    expect([dayOf('2026-05-08'), dayOf('2026-05-11')]).toContain(forecast.likelyOn)
    expect(forecast.basis).toMatchObject({ used: 0, amount: 20_000, perDay: 800 })
  })
})

describe('first round (rule 18)', () => {
  it('registered Sat 28 Nov 2026, not new: safety look in the week of 30 Nov, oil once by 24 Dec, November not asked, long looks from 30 Dec', () => {
    const cord = felt({ key: 'cord', safetyCheck: true, minutes: 3 })
    const chain = planTask([months(6)], { key: 'chain', minutes: 15 })
    const blade = planTask([months(12)], { key: 'blade', minutes: 15 })
    const machine = machineToPlan({ registeredOn: dayOf('2026-11-28') })
    expect(opens(plan('2026-11-28', [felt()], machine).changes)).toEqual([])
    const inDecember = (task: PlanTask) =>
      [1, 8, 15, 22].flatMap((date) => opens(plan(`2026-12-${String(date).padStart(2, '0')}`, [task], machine).changes)).at(-1)
    const safety = opens(plan('2026-12-01', [cord], machine).changes)[0]
    expect(safety).toMatchObject({ kind: 'first_look' })
    expect((safety as { dueOn: number }).dueOn).toBeGreaterThanOrEqual(dayOf('2026-11-30'))
    expect((safety as { dueOn: number }).dueOn).toBeLessThanOrEqual(dayOf('2026-12-06'))
    const firstOiling = (inDecember(felt()) as { dueOn: number }).dueOn
    expect(firstOiling).toBeLessThanOrEqual(dayOf('2026-12-24'))
    // Said beforehand as that day, not as November's last one; a machine with a known past waits for December.
    const foreseen = plan('2026-11-28', [felt()], machine).forecasts[0]!
    expect(foreseen).toMatchObject({ state: 'dated', likelyOn: firstOiling, basis: { firstLook: true } })
    const said = { earlyOn: null, likelyOn: dateOf(firstOiling), lateOn: null, noLaterThan: null, governingTrigger: 'calendar_month' }
    expect(whyDue({ ...foreseen, ...said } as ExplainedForecast)).toContain('We don’t know when this was last done. First look: week ')
    const oiled = { ...machine, lastDone: { felt: doneOn('2026-10-20') } }
    expect(plan('2026-11-28', [felt()], oiled).forecasts[0]!.likelyOn).toBe(dayOf('2026-12-31'))
    for (const task of [chain, blade]) expect(plan('2026-12-01', [task], machine).forecasts[0]!.state).toBe('first_look')
    for (const task of [chain, blade])
      for (let number = 0; number < 20; number++) {
        const { changes } = plan('2027-05-20', [task], { ...machine, machineId: `machine ${number}` })
        for (const change of opens(changes)) expect((change as { dueOn: number }).dueOn).toBeGreaterThanOrEqual(dayOf('2026-12-30'))
      }
  })

  it('a first look that its week has passed by is missed, never late', () => {
    const world = new World([planTask([months(6)], { key: 'chain', minutes: 15 })]).add('machine', { registeredOn: dayOf('2026-01-05') })
    world.planDaily('2026-01-05', '2026-10-01')
    const open = world.open('chain')
    expect(open).toMatchObject({ kind: 'first_look', lateFrom: null, hardLimitOn: null })
    const missedOn = (open?.windowTo ?? 0) + 1
    expect(world.sayings('first_look_missed')).toEqual([
      `${dateOf(missedOn)} first_look_missed first`,
      `${dateOf(missedOn)} first_look_missed second`,
    ])
    expect(world.sayings().filter((words) => /late|passed|limit/.test(words))).toEqual([])
  })
})

describe('peaks and closures (rules 1, 8, 9, 10)', () => {
  const chain = planTask([months(6)], { key: 'chain', minutes: 15 })
  const done = machineToPlan({ lastDone: { chain: doneOn('2026-06-10') } })

  it('last done 10 Jun, point Thu 10 Dec: window 22 Nov – 28 Dec, shifted to Fri 13 Nov, opens on 6 Nov, hard limit 24 Jan 2027', () => {
    expect(opens(plan('2026-11-05', [chain], done).changes)).toEqual([])
    const [opened] = opens(plan('2026-11-06', [chain], done).changes)
    expect(opened).toMatchObject({
      nominalOn: dayOf('2026-12-10'),
      windowFrom: dayOf('2026-11-22'),
      windowTo: dayOf('2026-12-28'),
      dueOn: dayOf('2026-11-13'),
      hardLimitOn: dayOf('2027-01-24'),
      lateFrom: dayOf('2026-11-14'),
    })
  })

  it('done on the shifted 13 Nov: next point 10 Jun 2027', () => {
    const occurrence = {
      nominalOn: dayOf('2026-12-10'),
      dueOn: dayOf('2026-11-13'),
      windowFrom: dayOf('2026-11-22'),
      windowTo: dayOf('2026-12-28'),
    }
    const anchor = anchorAfterDone(trigger, { anchorOn: dayOf('2026-06-10'), anchorSteps: 0 }, dayOf('2026-11-13'), occurrence, {
      governed: true,
      overrunCounts: false,
    })
    expect(dateOf(nextPoint(trigger, anchor, dayOf('2026-11-13')).nominalOn)).toBe('2027-06-10')
  })

  it('last done 20 Apr: point 20 Oct, window 2 Oct – 7 Nov, hard limit 4 Dec in the peak: put off at most to 13 Nov, urgent mail 12 Nov', () => {
    const machine = machineToPlan({ lastDone: { chain: doneOn('2026-04-20') } })
    const [opened] = opens(plan('2026-10-14', [chain], machine).changes)
    expect(opened).toMatchObject({
      nominalOn: dayOf('2026-10-20'),
      windowFrom: dayOf('2026-10-02'),
      windowTo: dayOf('2026-11-07'),
      hardLimitOn: dayOf('2026-12-04'),
    })
    const asked = (until: string) =>
      checkPutOff(
        table,
        { safetyCheck: false, monthlyListed: false, care: 'short', hardLimitOn: dayOf('2026-12-04') },
        { until: dayOf(until), today: dayOf('2026-10-21'), role: 'manager', reason: 'Peak', newHardLimitOn: null },
      )
    expect(asked('2026-11-13')).toEqual({ allowed: true })
    expect(asked('2026-11-16')).toMatchObject({ allowed: false, code: 'NO_OPEN_DAY' })
    const urgent = urgentOn(table, 'short', dayOf('2026-12-04'), dayOf('2026-10-01'))!
    expect([urgent.sayOn, urgent.doBy].map(dateOf)).toEqual(['2026-11-12', '2026-11-13'])
  })
})
