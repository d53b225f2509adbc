import { describe, expect, it } from '@jest/globals'
import {
  type HandSheet,
  isWorkedThrough,
  layOver,
  openStep,
  partsTaken,
  partsOfWork,
  partsToBook,
  sayImplausible,
  sayMeasured,
  standingOf,
  stepBefore,
  stripsWithin,
} from './overlay.js'
import type { KeptEntry } from './outbox.js'

const sheet: HandSheet = {
  id: 'order',
  number: 7,
  state: 'issued',
  machine: {
    id: 'm',
    labelCode: 'L-1',
    typeName: 'Bench electric',
    supply: 'cord_and_plug',
    mayOpen: 'our_technicians',
    serviceFirm: '',
    serviceTelephone: '',
    tape: 'plain',
  },
  warehouse: { id: 'w', name: 'North' },
  station: null,
  technician: null,
  note: '',
  cancelReason: null,
  cautions: [],
  acknowledgement: 'read',
  acknowledged: null,
  tasks: [
    {
      id: 't',
      name: 'Measure',
      why: '',
      minutes: 10,
      safetyCheck: false,
      replacesComponent: false,
      cautions: [],
      steps: [
        { key: 'open', text: 'Open', answer: 'tick', given: null },
        { key: 'upper', text: 'Measure', answer: 'measurement', measurementKey: 'upper', given: null },
      ],
      measurements: [{ key: 'upper', name: 'Upper', unit: 'mm', required: true, planLimit: 9.5, neverBelow: 6.4, given: [] }],
      parts: [],
      outcome: null,
      notDoneReason: null,
    },
  ],
  minutesPlanned: 10,
  functionCheck: { kind: 'none', asks: [], toleranceMm: null, instructions: [], ifOutOfTolerance: [], result: null },
  partsThatFit: [],
  partsUsed: [],
  taggedOut: false,
  missing: [],
  hints: [],
}
const kept = (...bodies: object[]): KeptEntry[] =>
  bodies.map((body, index) => ({
    id: String(index),
    kind: 'work',
    workOrderId: 'order',
    body: body as Record<string, unknown>,
    keptAt: '',
  }))

describe('a sheet with what is only on this phone', () => {
  it('asks for the cautions again after a pause, as the server will', () => {
    const waiting = layOver({ ...sheet, state: 'under_way', acknowledged: { byName: 'Ana' } }, kept({ kind: 'wait', waitingFor: 'part' }))
    expect([waiting.state, waiting.acknowledged]).toEqual(['waiting', null])
    const again = layOver(waiting, kept({ kind: 'acknowledge_cautions' }, { kind: 'resume' }))
    expect([again.state, again.acknowledged]).toEqual(['under_way', { byName: 'you' }])
  })

  it('shows answers, values and state as typed, in order', () => {
    const standing = layOver(
      sheet,
      kept(
        { kind: 'accept' },
        { kind: 'acknowledge_cautions' },
        { kind: 'start' },
        { kind: 'answer_step', taskId: 't', stepKey: 'open', answer: true },
        { kind: 'measure', taskId: 't', measurementKey: 'upper', value: 0.5, unit: 'in' },
      ),
    )
    expect(standing.state).toBe('under_way')
    expect(standing.acknowledged).not.toBeNull()
    expect(standing.tasks[0]?.measurements[0]?.given).toEqual([{ valueMm: 12.7, whenTaken: 'as_found' }])
    expect(isWorkedThrough(standing.tasks[0]!)).toBe(true)
    expect(isWorkedThrough(sheet.tasks[0]!)).toBe(false)
  })

  it('leaves other orders and refused entries aside, and the server’s answer untouched', () => {
    const others = kept({ kind: 'start' }).map((entry) => ({ ...entry, workOrderId: 'another' }))
    const refused = kept({ kind: 'start' }).map((entry) => ({ ...entry, refused: 'no' }))
    expect(layOver(sheet, [...others, ...refused])).toEqual(sheet)
    expect(sheet.state).toBe('issued')
  })

  it('judges strips only where the type states a tolerance, and never takes a kept check for a good one', () => {
    expect(stripsWithin([{ askedMm: 300, measuredMm: 303 }], 3)).toBe(true)
    expect(stripsWithin([{ askedMm: 300, measuredMm: 296.9 }], 3)).toBe(false)
    expect(stripsWithin([{ askedMm: 300, measuredMm: 200 }], null)).toBeNull()
    const checked = { ...sheet, functionCheck: { ...sheet.functionCheck, kind: 'short' as const, toleranceMm: 3 } }
    const off = kept({ kind: 'function_check', strips: [{ askedMm: 300, measuredMm: 290 }] })
    expect(layOver(checked, off).functionCheck.result).toEqual({ withinTolerance: false })
  })

  it('says what a value means at and below the limits', () => {
    const limits = { planLimit: 9.5, neverBelow: 6.4 }
    expect(sayMeasured(limits, 9.6)).toBeNull()
    expect(sayMeasured(limits, 9.5)).toContain('replacing')
    expect(sayMeasured(limits, 6.3)).toContain('cannot be handed back')
  })
})

describe('a value that the plan does not expect', () => {
  it('is asked about once more, in the unit it was typed in', () => {
    const say = (mm: number): string => `${mm} mm`
    const brush = { plausibleFrom: 2, plausibleTo: 20 }
    expect([11, 2, 20].map((mm) => sayImplausible(brush, mm, say))).toEqual([null, null, null])
    expect(sayImplausible(brush, 110, say)).toBe(
      'The plan expects 2 mm to 20 mm. Look once more at the number and its unit; keep it if it is so.',
    )
    expect(sayImplausible({ plausibleFrom: 2, plausibleTo: null }, 1, say)).toContain('expects at least 2 mm.')
    expect(sayImplausible({ plausibleTo: 20 }, 21, say)).toContain('expects at most 20 mm.')
    // A page from before, and a plan that expects nothing.
    expect([sayImplausible({}, 900, say), sayImplausible({ plausibleFrom: null, plausibleTo: null }, 900, say)]).toEqual([null, null])
  })
})

describe('a step that one goes back to', () => {
  const step = (key: string, answer: string, given: boolean | number | null, measurementKey?: string) => ({
    key,
    text: key,
    answer,
    ...(measurementKey ? { measurementKey } : {}),
    given: given === null ? null : { answer: given },
  })
  const [first] = sheet.tasks
  const task: HandSheet['tasks'][number] = {
    ...first!,
    steps: [
      step('look', 'tick', true),
      step('length', 'measurement', null, 'brush'),
      step('spare', 'measurement', null, 'second'),
      step('free', 'yes_no', null),
    ],
    measurements: [
      {
        key: 'brush',
        name: 'Shorter brush',
        unit: 'mm',
        required: true,
        planLimit: 8,
        neverBelow: 7,
        given: [{ valueMm: 1.5, whenTaken: 'as_found' }],
      },
      { key: 'second', name: 'Longer brush', unit: 'mm', required: false, planLimit: null, neverBelow: null, given: [] },
    ],
  }
  const keyOf = (one: { key: string } | undefined) => one?.key

  it('is the one answered last, and from there the ones before it; what wants no answer is passed over', () => {
    expect(keyOf(openStep(task))).toBe('free')
    expect(keyOf(stepBefore(task, openStep(task)))).toBe('length')
    expect(keyOf(stepBefore(task, task.steps[1]))).toBe('look')
    expect(keyOf(stepBefore(task, task.steps[0]))).toBeUndefined()
    const through = { ...task, steps: task.steps.map((one) => (one.key === 'free' ? { ...one, given: { answer: false } } : one)) }
    expect([keyOf(openStep(through)), keyOf(stepBefore(through, undefined)), isWorkedThrough(through)]).toEqual([undefined, 'free', true])
  })

  it('keeps a value that was mistyped no longer', () => {
    const standing = { ...sheet, tasks: [task] }
    const measure = { kind: 'measure', taskId: task.id, measurementKey: 'brush', value: 11.5, unit: 'mm', whenTaken: 'as_found' }
    const given = (body: object) => layOver(standing, kept(body as never)).tasks[0]?.measurements[0]?.given.map(({ valueMm }) => valueMm)
    expect([given(measure), given({ ...measure, instead: true })]).toEqual([[1.5, 11.5], [11.5]])
  })

  it('is not asked for again where pieces were counted, which the server keeps as an answer', () => {
    const counted = {
      ...task,
      steps: [step('pieces', 'measurement', 3, 'pieces')],
      measurements: [
        { key: 'pieces', name: 'Pieces', unit: 'count' as const, required: true, planLimit: null, neverBelow: null, given: [] },
      ],
    }
    expect(openStep(counted)).toBeUndefined()
    expect(keyOf(openStep({ ...counted, steps: [step('pieces', 'measurement', null, 'pieces')] }))).toBe('pieces')
  })
})

describe('parts to book', () => {
  const pair = { partId: 'pair', name: 'Brushes, the pair', componentKey: 'motor_brush_set', onHand: 2 }
  const other = { partId: 'felt', name: 'Felt', componentKey: 'blade_felt', onHand: 5 }
  const [task] = sheet.tasks
  const replacing: HandSheet = {
    ...sheet,
    tasks: [{ ...task!, replacesComponent: true, parts: [{ componentKey: 'motor_brush_set', quantity: 1 }] }],
    partsThatFit: [pair, other],
  }
  const ids = (standing: HandSheet, tasks?: HandSheet['tasks']): string[] => partsToBook(standing, tasks).map(({ partId }) => partId)

  it('are those that fit, are in stock and are used by work that is done, until one is booked', () => {
    expect(ids(replacing)).toEqual([])
    expect(ids(replacing, replacing.tasks)).toEqual(['pair'])
    const done = layOver(replacing, kept({ kind: 'task_done', taskId: 't' }))
    expect(ids(done)).toEqual(['pair'])
    const booked = layOver(replacing, kept({ kind: 'use_part', partId: 'pair', quantity: 1 }, { kind: 'task_done', taskId: 't' }))
    expect([ids(booked), booked.partsThatFit[0]?.onHand]).toEqual([[], 1])
    expect(ids(layOver(done, kept({ kind: 'use_part', partId: 'felt', quantity: 1 })))).toEqual(['pair'])
  })

  it('are asked for again when what was taken is put back, and the shelf has it again', () => {
    const taken = kept({ kind: 'use_part', partId: 'pair', quantity: 1 }, { kind: 'use_part', partId: 'felt', quantity: 3 })
    const back = (quantity: number) => layOver(replacing, [...taken, ...kept({ kind: 'put_back_part', partId: 'felt', quantity })])
    expect(back(2).partsUsed.map(({ partId, quantity }) => [partId, quantity])).toEqual([
      ['pair', 1],
      ['felt', 1],
    ])
    expect([back(3).partsUsed.length, back(3).partsThatFit.map(({ onHand }) => onHand)]).toEqual([1, [1, 5]])
    const none = layOver(replacing, [
      ...taken,
      ...kept({ kind: 'put_back_part', partId: 'pair', quantity: 1 }, { kind: 'task_done', taskId: 't' }),
    ])
    expect(ids(none)).toEqual(['pair'])
  })

  it('are one line a part, however often one was taken', () => {
    const twice = layOver(
      replacing,
      kept({ kind: 'use_part', partId: 'felt', quantity: 1 }, { kind: 'use_part', partId: 'felt', quantity: 2 }),
    )
    expect(partsTaken(twice)).toEqual([{ partId: 'felt', partName: 'Felt', quantity: 3 }])
  })

  it('are asked for where a task that could not be done is done after all', () => {
    const left = layOver(replacing, kept({ kind: 'task_not_done', taskId: 't', reason: 'no part' }))
    expect(left.tasks[0]).toMatchObject({ outcome: 'not_done', notDoneReason: 'no part' })
    const again = layOver(left, kept({ kind: 'task_again', taskId: 't' }))
    expect([again.tasks[0]?.outcome, again.tasks[0]?.notDoneReason, ids(again, again.tasks)]).toEqual([null, null, ['pair']])
  })

  it('are not asked for where a task closed by mistake is open again, and the machine is checked anew', () => {
    const check = { ...replacing.functionCheck, result: { withinTolerance: true } }
    const done = layOver({ ...replacing, functionCheck: check }, kept({ kind: 'task_done', taskId: 't' }))
    const open = layOver(done, kept({ kind: 'task_again', taskId: 't' }))
    expect([done.tasks[0]?.outcome, open.tasks[0]?.outcome, open.functionCheck.result]).toEqual(['done', null, null])
  })

  it('are none where nothing that fits is in stock, where nothing was replaced, and where the task was not done', () => {
    const none = { ...replacing, partsThatFit: [{ ...pair, onHand: 0 }, other] }
    expect(ids(none, replacing.tasks)).toEqual([])
    // One may have lain there all the same: it is offered, and not asked for.
    expect(partsOfWork(none, replacing.tasks).map(({ partId }) => partId)).toEqual(['pair'])
    expect(ids(replacing, [{ ...replacing.tasks[0]!, replacesComponent: false }])).toEqual([])
    expect(ids(layOver(replacing, kept({ kind: 'task_not_done', taskId: 't', reason: 'no part' })))).toEqual([])
  })
})

describe('an order of a list', () => {
  it('stands as its last step on this phone left it, and says whether the server knows', () => {
    const order = { id: 'order', state: 'issued' }
    const done = kept({ kind: 'accept' }, { kind: 'start' }, { kind: 'answer_step' }, { kind: 'finish' })
    expect(standingOf(order, [])).toEqual({ state: 'issued', kept: false })
    expect(standingOf(order, done.slice(0, 3))).toEqual({ state: 'under_way', kept: true })
    expect(standingOf(order, done)).toEqual({ state: 'done', kept: true })
    expect(
      standingOf(
        order,
        done.map((one) => ({ ...one, savedAt: '2026-05-04T08:00:00Z' })),
      ),
    ).toEqual({ state: 'done', kept: false })
    expect(standingOf({ ...order, id: 'another' }, done)).toEqual({ state: 'issued', kept: false })
    expect(
      standingOf(
        order,
        done.map((one) => ({ ...one, refused: 'It is with Bo now.' })),
      ),
    ).toEqual({ state: 'issued', kept: false })
  })
})
