/** What must hold whatever happens: random histories of many days, decided and carried out. */
import { describe, expect, it } from '@jest/globals'
import fc from 'fast-check'
import type { MachineStatus } from '@tapewarden/shared'
import type { Day, OccurrenceChange, OpenOccurrence, PlanTask } from '../model.js'
import { defaultPlanFor } from '../plan-defaults/default-plan.js'
import { dateOf, dayOf } from '../time/day.js'
import { NO_PEAK_CALENDAR, WORKED_CASES_CALENDAR } from './plans-for-tests.js'
import { World } from './world-for-tests.js'

const TASKS: PlanTask[] = defaultPlanFor({ drive: 'electric', supply: 'cord_and_plug', heater: true, feltBehindCover: false }).map(
  (task) => ({
    ...task,
    planTaskId: `plan ${task.key}`,
    serviceTaskId: task.key,
    measures: task.measurements.length > 0,
    partsLeadDays: task.parts.length > 0 ? 14 : 0,
  }),
)

const START = dayOf('2026-09-20')
const DAYS = 90

type Event =
  | { kind: 'done' | 'skip' | 'put_off' | 'start'; pick: number }
  | { kind: 'status'; status: MachineStatus }
  | { kind: 'use'; strips: number }
  | { kind: 'finding'; pick: number; withinDays: number | null; safety: boolean }
  | { kind: 'moved' }

const event: fc.Arbitrary<Event> = fc.oneof(
  { weight: 8, arbitrary: fc.record({ kind: fc.constantFrom('done' as const), pick: fc.nat(99) }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constantFrom('skip' as const, 'put_off' as const, 'start' as const), pick: fc.nat(99) }) },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('status' as const),
      status: fc.constantFrom<MachineStatus>('in_service', 'in_service', 'on_the_shelf', 'at_the_bench', 'tagged_out'),
    }),
  },
  { weight: 6, arbitrary: fc.record({ kind: fc.constant('use' as const), strips: fc.integer({ min: 0, max: 4000 }) }) },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('finding' as const),
      pick: fc.nat(99),
      withinDays: fc.option(fc.integer({ min: 0, max: 40 })),
      safety: fc.boolean(),
    }),
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('moved' as const) }) },
)
const history = fc.record({
  events: fc.array(fc.record({ on: fc.integer({ min: 0, max: DAYS - 1 }), event }), { maxLength: 50 }),
  peak: fc.boolean(),
  known: fc.boolean(),
  registeredDaysBefore: fc.integer({ min: 0, max: 600 }),
  /** Days on which no pass ran. */
  missed: fc.array(fc.integer({ min: 0, max: DAYS - 1 }), { maxLength: 40 }),
})
type History = typeof history extends fc.Arbitrary<infer Value> ? Value : never

function makeWorld({ peak, known, registeredDaysBefore }: History): World {
  const world = new World(TASKS, peak ? WORKED_CASES_CALENDAR : NO_PEAK_CALENDAR)
  const last = Object.fromEntries(TASKS.map(({ key }, index) => [key, dateOf(START - 10 - ((index * 37) % 200))]))
  return world.add('m', { registeredOn: START - registeredDaysBefore, ...(known ? { last } : {}) })
}

function happen(world: World, day: Day, what: Event): void {
  const date = dateOf(day)
  const opens = TASKS.filter(({ key }) => world.open(key, 'm') !== null)
  const chosen = 'pick' in what ? opens[what.pick % Math.max(1, opens.length)] : undefined
  switch (what.kind) {
    case 'done':
      if (chosen) world.finish(chosen.key, date)
      break
    case 'skip':
      if (chosen && !chosen.safetyCheck) world.skip(chosen.key, date)
      break
    case 'put_off':
      if (chosen && !chosen.safetyCheck && chosen.reach !== 'outside') world.putOff(chosen.key, date, dateOf(day + 5))
      break
    case 'start':
      if (chosen) world.underWay(chosen.key, date)
      break
    case 'status':
      world.setStatus('m', what.status, date)
      break
    case 'use':
      world.use('m', date, date, what.strips)
      break
    case 'finding': {
      const serviceTaskId = (TASKS[what.pick % TASKS.length] as PlanTask).key
      const machine = world.input().machines[0]!
      const finding = {
        findingId: `f ${day}`,
        serviceTaskId,
        foundOn: day,
        dueOn: null,
        withinDays: what.withinDays,
        safety: what.safety,
        text: 'x',
      }
      world.change('m', { findings: [...machine.findings, finding] })
      break
    }
    case 'moved': {
      const machine = world.input().machines[0]!
      world.change('m', { situations: [...machine.situations, { kind: 'moved', on: day }] })
    }
  }
}

/** Runs a history; `after` sees each pass and its changes. */
function run(of: History, after: (world: World, changes: OccurrenceChange[]) => void): World {
  const world = makeWorld(of)
  const missed = new Set(of.missed)
  for (let offset = 0; offset < DAYS; offset++) {
    const day = START + offset
    if (!missed.has(offset)) after(world, world.plan(day))
    for (const { on, event: what } of of.events) if (on === offset) happen(world, day, what)
  }
  return world
}

const openOnes = (world: World): [PlanTask, OpenOccurrence][] =>
  TASKS.flatMap((task) => {
    const open = world.open(task.key, 'm')
    return open ? [[task, open] as [PlanTask, OpenOccurrence]] : []
  })
const isListed = ({ kind }: OpenOccurrence): boolean => kind === 'monthly' || kind === 'first_look' || kind === 'wake_up'

describe('random histories', () => {
  it('planned again on the same day, nothing changes', () => {
    fc.assert(
      fc.property(history, (of) => {
        let passes = 0
        run(of, (world) => {
          if (passes++ % 7 === 0) expect(world.plan(world.today)).toEqual([])
        })
      }),
      { numRuns: 10 },
    )
  })

  it('no stage is told twice to one office of one occurrence; each that opens in service is told of; nothing else is', () => {
    fc.assert(
      fc.property(history, (of) => {
        const world = run(of, (now, changes) => {
          for (const change of changes) if (change.do === 'open') expect(change.say.length).toBeGreaterThan(0)
          if (now.input().machines[0]!.status !== 'in_service') expect(changes.filter((change) => change.do !== 'supersede')).toEqual([])
        })
        const keys = world.said.map(({ task, sequence, stage, told }) => `${task} ${sequence} ${stage} ${told}`)
        expect(new Set(keys).size).toBe(keys.length)
      }),
      { numRuns: 10 },
    )
  })

  it('dates of what is open are in order, and safety checks have no late side', () => {
    fc.assert(
      fc.property(history, (of) => {
        run(of, (world) => {
          for (const [task, open] of openOnes(world)) {
            expect(open.windowFrom).toBeLessThanOrEqual(open.windowTo)
            expect(open.openedOn).toBeLessThanOrEqual(world.today)
            if (isListed(open) || open.kind === 'put_off') continue
            expect(open.windowFrom).toBeLessThanOrEqual(open.nominalOn)
            expect(open.nominalOn).toBeLessThanOrEqual(Math.max(open.windowTo, open.nominalOn))
            expect(open.lateFrom).not.toBeNull()
            if (task.safetyCheck) expect(open.windowTo).toBe(open.nominalOn)
            if (task.safetyCheck) expect(open.lateFrom).toBeLessThanOrEqual(Math.max(open.nominalOn + 1, (open.saidOn ?? 0) + 1))
          }
        })
      }),
      { numRuns: 10 },
    )
  })

  it('every task of a machine in service has a forecast with a state and, without a date, a reason', () => {
    fc.assert(
      fc.property(history, (of) => {
        run(of, (world) => {
          const { forecasts, problem } = world.plans[0]!
          expect(problem).toBeNull()
          expect(forecasts.map(({ serviceTaskId }) => serviceTaskId)).toEqual(TASKS.map(({ key }) => key))
          for (const { state, likelyOn, earlyOn, lateOn, reason } of forecasts) {
            if (likelyOn === null) expect(reason).toEqual(expect.any(String))
            else if (earlyOn !== null && lateOn !== null)
              expect([state, earlyOn <= likelyOn, likelyOn <= lateOn]).toEqual([state, true, true])
          }
        })
      }),
      { numRuns: 10 },
    )
  })

  it('monthly care never nags: it is only ever in the list, in the last week, or looked for the first time', () => {
    const allowed = /^(month_list|month_last_week|first_look_missed)$/
    fc.assert(
      fc.property(history, (of) => {
        const world = run({ ...of, events: of.events.filter(({ event: { kind } }) => kind === 'done' || kind === 'use') }, () => undefined)
        const monthly = new Set(['oil_blade_felt', 'clean_heater_and_plates', 'rinse_and_descale_tank', 'look_at_cord_covers_guard'])
        expect(world.said.filter(({ task, stage }) => monthly.has(task) && !allowed.test(stage))).toEqual([])
      }),
      { numRuns: 10 },
    )
  })

  it('an occurrence that stays open is passed on at 3, 7 and 14 days, whatever passes were missed', () => {
    fc.assert(
      fc.property(fc.array(fc.boolean(), { minLength: 60, maxLength: 60 }), (ran) => {
        const world = new World([TASKS.find(({ key }) => key === 'check_chain') as PlanTask], NO_PEAK_CALENDAR).add('m', {
          last: { check_chain: '2026-01-10' },
        })
        ran.forEach((runs, index) => {
          if (runs) world.plan(dayOf('2026-07-01') + index)
        })
        world.plan('2026-09-01')
        const offices = world.said.filter(({ stage }) => stage.startsWith('passed_on')).map(({ told }) => told)
        expect([...offices].sort()).toEqual(['manager', 'second', 'technician'])
        for (const { stage, on } of world.said)
          if (stage.startsWith('passed_on'))
            expect(dayOf(on) - dayOf('2026-07-28')).toBeGreaterThanOrEqual(
              { passed_on_1: 3, passed_on_2: 7, passed_on_3: 14 }[stage as 'passed_on_1'],
            )
      }),
      { numRuns: 20 },
    )
  })
})
