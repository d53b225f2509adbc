/** What a 'done' does. Limits of motor brushes: common practice, no source (plan 9.5 mm, never below 6.4 mm). */
import { describe, expect, it } from '@jest/globals'
import { judgeSecondAnswer } from '../rules/two-answers.js'
import { dayOf } from '../time/day.js'
import { completeTask, type OccurrenceToSettle, type TaskDone } from './complete-task.js'
import { months } from './plans-for-tests.js'

const open: OccurrenceToSettle = {
  id: 'o',
  state: 'open',
  kind: 'regular',
  governing: 'calendar',
  nominalOn: dayOf('2026-07-10'),
  dueOn: dayOf('2026-07-10'),
  windowFrom: dayOf('2026-06-22'),
  windowTo: dayOf('2026-07-28'),
}
const last = { doneOn: dayOf('2026-01-10'), anchorOn: dayOf('2026-01-10'), anchorSteps: 0 }
const task = (more: Partial<TaskDone['task']> = {}): TaskDone['task'] => ({
  key: 'chain',
  triggers: [months(6)],
  componentKey: null,
  overrunCounts: false,
  ...more,
})
const done = (more: Partial<TaskDone> = {}): TaskDone => ({
  task: task(),
  doneOn: dayOf('2026-07-08'),
  last,
  newOn: null,
  forecast: null,
  occurrence: open,
  fittedComponentKey: null,
  measured: [],
  units: 'si',
  ...more,
})
const felt = task({ key: 'felt', triggers: [{ kind: 'calendar_month' }] })
const monthly: OccurrenceToSettle = { ...open, kind: 'monthly', governing: 'calendar_month' }
const brush = { key: 'upper_brush', name: 'Upper brush', planLimitMm: 9.5, neverBelowMm: 6.4, opensTaskKey: 'replace_motor_brushes' }

describe('a task done', () => {
  it('settles its open occurrence and counts from the nominal point', () => {
    expect(completeTask(done())).toEqual({
      record: { doneOn: dayOf('2026-07-08'), anchorOn: dayOf('2026-01-10'), anchorSteps: 6, settles: true },
      settlesOccurrenceId: 'o',
      settlesFindingsUpTo: dayOf('2026-07-08'),
      situations: [],
      findings: [],
      blocksHandBack: [],
    })
  })

  it('whose other trigger governed restarts the calendar from the actual day', () => {
    const { record } = completeTask(done({ occurrence: { ...open, governing: 'usage' } }))
    expect([record.anchorOn, record.anchorSteps]).toEqual([dayOf('2026-07-08'), 0])
  })

  it('on a wake-up list counts from the actual day', () => {
    expect(completeTask(done({ occurrence: { ...open, kind: 'wake_up' } })).record).toMatchObject({
      anchorOn: dayOf('2026-07-08'),
      anchorSteps: 0,
    })
  })

  it('a second done for an occurrence that is done is evidence and moves nothing (rule 14)', () => {
    const second = completeTask(done({ occurrence: { ...open, state: 'done' } }))
    expect([second.record.settles, second.settlesOccurrenceId, second.settlesFindingsUpTo]).toEqual([false, null, null])
  })

  it('felt oiled 3 Mar, 30 Mar, 2 Apr 2026: the 30th is evidence (rules 6, 14)', () => {
    const third = completeTask(done({ task: felt, doneOn: dayOf('2026-03-03'), last: null, occurrence: monthly }))
    expect([third.record.settles, third.settlesOccurrenceId]).toEqual([true, 'o'])
    const march = { doneOn: dayOf('2026-03-03'), anchorOn: dayOf('2026-03-03'), anchorSteps: 0 }
    expect(completeTask(done({ task: felt, doneOn: dayOf('2026-03-30'), last: march, occurrence: null })).record.settles).toBe(false)
    expect(completeTask(done({ task: felt, doneOn: dayOf('2026-04-02'), last: march, occurrence: monthly })).record.settles).toBe(true)
  })

  it('unasked, where use counts too, it moves the clock also in a settled month', () => {
    const both = task({ key: 'brushes', triggers: [{ kind: 'calendar_month' }, { kind: 'usage', unit: 'strips', amount: 20_000 }] })
    const march = { doneOn: dayOf('2026-03-03'), anchorOn: dayOf('2026-03-03'), anchorSteps: 0 }
    expect(completeTask(done({ task: both, doneOn: dayOf('2026-03-30'), last: march, occurrence: null })).record.settles).toBe(true)
  })

  it('that fits a brush set is the situation brushes replaced; a blade is none', () => {
    expect(completeTask(done({ fittedComponentKey: 'moistener_brush_set' })).situations).toEqual([
      { kind: 'brushes_replaced', on: dayOf('2026-07-08') },
    ])
    expect(completeTask(done({ fittedComponentKey: 'blade' })).situations).toEqual([])
  })
})

describe('what was measured (rule 15)', () => {
  const measured = (valueMm: number) => completeTask(done({ measured: [{ limits: brush, valueMm }] }))

  it('brush measured 9.3 mm: a finding for replacing, dated by the pass, and no bar to hand-back', () => {
    const { findings, blocksHandBack } = measured(9.3)
    expect(findings).toMatchObject([{ taskKey: 'replace_motor_brushes', foundOn: dayOf('2026-07-08'), dueOn: null }])
    expect(blocksHandBack).toEqual([])
  })

  it('is written down in the units of whoever measured, without the tail of a number', () => {
    const told = (units: 'si' | 'us') =>
      completeTask(done({ measured: [{ limits: brush, valueMm: 0.374 * 25.4 }], units })).findings[0]?.text
    expect(told('si')).toBe('Upper brush: 9.5 mm measured on 2026-07-08, to be replaced at 9.5 mm.')
    // 9.5 mm / 25.4 = 0.37402 in.
    expect(told('us')).toBe('Upper brush: 0.374 in measured on 2026-07-08, to be replaced at 0.374 in.')
  })

  it('brush measured 6.0 mm: replace now or tag it out; the finding is due that day', () => {
    const { findings, blocksHandBack } = measured(6)
    expect(findings).toMatchObject([{ taskKey: 'replace_motor_brushes', dueOn: dayOf('2026-07-08') }])
    expect(blocksHandBack).toMatchObject([{ measurementKey: 'upper_brush' }])
  })

  it.each([
    [9.51, 0, 0],
    [9.5, 1, 0],
    [6.4, 1, 0],
    [6.39, 1, 1],
  ])('%f mm: %i findings, %i bars', (valueMm, findings, bars) => {
    const result = measured(valueMm)
    expect([result.findings.length, result.blocksHandBack.length]).toEqual([findings, bars])
  })

  it('what is no length is refused', () => {
    for (const valueMm of [-1, Number.NaN, Number.POSITIVE_INFINITY]) expect(() => measured(valueMm)).toThrow(RangeError)
  })
})

describe('two answers (rule 14)', () => {
  it.each([
    ['a second done', { outcome: 'done' }, { outcome: 'done' }, 'kept_as_evidence'],
    ['not done after done', { outcome: 'done' }, { outcome: 'not_done' }, 'kept_as_evidence'],
    ['done after not done', { outcome: 'not_done' }, { outcome: 'done' }, 'applied'],
    ['another length', { outcome: 'done', measured: { a: 9.3 } }, { outcome: 'done', measured: { a: 9.1 } }, 'conflict'],
    ['the same length', { outcome: 'done', measured: { a: 9.3 } }, { outcome: 'done', measured: { a: 9.3 } }, 'kept_as_evidence'],
    ['another finding', { outcome: 'done', findings: ['cord'] }, { outcome: 'done', findings: ['guard'] }, 'conflict'],
  ] as const)('%s', (_, first, second, outcome) => expect(judgeSecondAnswer(first, second)).toBe(outcome))
})
