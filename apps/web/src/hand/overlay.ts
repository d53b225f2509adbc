/** The sheet as it stands with what is still only on this phone laid over it. Pure. */
import { lengthInMm } from '../ui/lengths.js'
import type { KeptEntry } from './outbox.js'

export interface HandMeasurement {
  key: string
  name: string
  unit: 'mm' | 'count'
  required: boolean
  planLimit: number | null
  neverBelow: number | null
  /** What the plan expects at all, in mm or pieces; not on pages that were kept before. */
  plausibleFrom?: number | null
  plausibleTo?: number | null
  given: { valueMm: number; whenTaken: string }[]
}
export interface HandTask {
  id: string
  name: string
  why: string
  minutes: number
  safetyCheck: boolean
  replacesComponent: boolean
  cautions: string[]
  steps: {
    key: string
    text: string
    caution?: string
    answer: string
    choices?: string[]
    measurementKey?: string
    given: { answer: string | number | boolean } | null
  }[]
  measurements: HandMeasurement[]
  /** What a new one of takes from stock. */
  parts: { componentKey: string; quantity: number }[]
  outcome: 'done' | 'not_done' | null
  notDoneReason: string | null
}
export type HandStep = HandTask['steps'][number]
export interface HandSheet {
  id: string
  number: number
  state: string
  machine: {
    id: string
    labelCode: string
    typeName: string
    supply: 'cord_and_plug' | 'wired_in' | 'none'
    mayOpen: string
    serviceFirm: string
    serviceTelephone: string
    tape: string
  }
  warehouse: { id: string; name: string }
  station: { name: string; line: string } | null
  technician: { id: string; name: string } | null
  note: string
  cancelReason: string | null
  cautions: { key: string; text: string }[]
  acknowledgement: string
  acknowledged: { byName: string } | null
  tasks: HandTask[]
  minutesPlanned: number
  functionCheck: {
    kind: 'none' | 'short' | 'full'
    asks: { askedMm: number; times: number; what: string }[]
    toleranceMm: number | null
    instructions: string[]
    ifOutOfTolerance: string[]
    result: { withinTolerance: boolean | null } | null
  }
  partsThatFit: { partId: string; name: string; componentKey: string | null; onHand: number }[]
  partsUsed: { partId: string; partName: string; quantity: number }[]
  taggedOut: boolean
  missing: { code: string; text: string }[]
  /** What was entered so far, by anybody; what is only on this phone comes last. */
  entries?: { kind: string; madeAt: string }[]
  hints: string[]
}

type Body = {
  kind: string
  madeAt?: string
  taskId?: string
  stepKey?: string
  answer?: string | number | boolean
  measurementKey?: string
  value?: number
  unit?: string
  whenTaken?: string
  instead?: boolean
  reason?: string
  partId?: string
  quantity?: number
  strips?: { askedMm: number; measuredMm: number }[]
}

/** As the server judges: every strip within the type's tolerance; null where the type states none, so nothing is judged. */
export function stripsWithin(strips: readonly { askedMm: number; measuredMm: number }[], toleranceMm: number | null): boolean | null {
  if (toleranceMm === null) return null
  return strips.every(({ askedMm, measuredMm }) => Math.abs(measuredMm - askedMm) <= toleranceMm + 1e-9)
}

const STATE_AFTER: Readonly<Record<string, string>> = {
  accept: 'accepted',
  start: 'under_way',
  wait: 'waiting',
  resume: 'under_way',
  finish: 'done',
  hand_back: 'returned',
}

/** An order of a list as it stands with what is only on this phone; kept: the phone alone knows of its last step. */
export function standingOf({ id, state }: { id: string; state: string }, kept: readonly KeptEntry[]): { state: string; kept: boolean } {
  const moves = kept.filter(
    ({ workOrderId, refused, body }) => workOrderId === id && refused === undefined && STATE_AFTER[String(body.kind)] !== undefined,
  )
  const last = moves.at(-1)
  return last ? { state: STATE_AFTER[String(last.body.kind)] ?? state, kept: last.savedAt === undefined } : { state, kept: false }
}

function onTask(sheet: HandSheet, taskId: string | undefined, change: (task: HandTask) => HandTask): HandSheet {
  return { ...sheet, tasks: sheet.tasks.map((task) => (task.id === taskId ? change(task) : task)) }
}

function onShelf(sheet: HandSheet, partId: string, change: number): HandSheet {
  const shelf = sheet.partsThatFit.map((one) => (one.partId === partId ? { ...one, onHand: Math.max(0, one.onHand + change) } : one))
  return { ...sheet, partsThatFit: shelf }
}

/** What was taken last goes back first, as the server does. */
function putBack(used: HandSheet['partsUsed'], partId: string, quantity: number): HandSheet['partsUsed'] {
  let left = quantity
  // No toReversed: older phones do not know it.
  const newestFirst = [...used].reverse().flatMap((one) => {
    if (one.partId !== partId) return [one]
    const back = Math.min(left, one.quantity)
    left -= back
    return back === one.quantity ? [] : [{ ...one, quantity: one.quantity - back }]
  })
  return newestFirst.reverse()
}

/** What this work has taken out of stock, one line a part. */
export function partsTaken({ partsUsed }: Pick<HandSheet, 'partsUsed'>): HandSheet['partsUsed'] {
  const taken = new Map<string, HandSheet['partsUsed'][number]>()
  for (const one of partsUsed) taken.set(one.partId, { ...one, quantity: one.quantity + (taken.get(one.partId)?.quantity ?? 0) })
  return [...taken.values()]
}

function layOne(sheet: HandSheet, body: Body): HandSheet {
  const state = STATE_AFTER[body.kind]
  const moved = state ? { ...sheet, state } : sheet
  switch (body.kind) {
    case 'acknowledge_cautions':
      return { ...moved, acknowledged: { byName: 'you' } }
    case 'answer_step':
      return onTask(moved, body.taskId, (task) => ({
        ...task,
        steps: task.steps.map((step) => (step.key === body.stepKey ? { ...step, given: { answer: body.answer ?? true } } : step)),
      }))
    case 'measure':
      return onTask(moved, body.taskId, (task) => ({
        ...task,
        measurements: task.measurements.map((measurement) =>
          measurement.key === body.measurementKey
            ? {
                ...measurement,
                given: [
                  ...(body.instead ? measurement.given.slice(0, -1) : measurement.given),
                  { valueMm: lengthInMm(body.value ?? 0, body.unit === 'in' ? 'in' : 'mm'), whenTaken: body.whenTaken ?? 'as_found' },
                ],
              }
            : measurement,
        ),
      }))
    case 'task_done':
      return onTask(moved, body.taskId, (task) => ({ ...task, outcome: 'done' }))
    case 'task_not_done':
      return onTask(moved, body.taskId, (task) => ({ ...task, outcome: 'not_done', notDoneReason: body.reason ?? null }))
    // As the server does: what is done after this, the check has not seen.
    case 'task_again': {
      const unchecked = { ...moved, functionCheck: { ...moved.functionCheck, result: null } }
      return onTask(unchecked, body.taskId, (task) => ({ ...task, outcome: null, notDoneReason: null }))
    }
    case 'use_part': {
      const [partId, quantity] = [body.partId ?? '', body.quantity ?? 1]
      const part = moved.partsThatFit.find((one) => one.partId === partId)
      return onShelf(
        { ...moved, partsUsed: [...moved.partsUsed, { partId, partName: part?.name ?? 'a part', quantity }] },
        partId,
        -quantity,
      )
    }
    case 'put_back_part': {
      const [partId, quantity] = [body.partId ?? '', body.quantity ?? 1]
      return onShelf({ ...moved, partsUsed: putBack(moved.partsUsed, partId, quantity) }, partId, quantity)
    }
    case 'function_check':
      return {
        ...moved,
        functionCheck: {
          ...moved.functionCheck,
          result: { withinTolerance: stripsWithin(body.strips ?? [], moved.functionCheck.toleranceMm) },
        },
      }
    // As the server does: whoever goes on reads the cautions again.
    case 'wait':
    case 'hand_back':
      return { ...moved, acknowledged: null }
    case 'tag_out':
      return { ...moved, taggedOut: true }
    default:
      return moved
  }
}

const withEntry = (sheet: HandSheet, { kind, madeAt }: Body): HandSheet =>
  madeAt === undefined ? sheet : { ...sheet, entries: [...(sheet.entries ?? []), { kind, madeAt }] }

export function layOver(sheet: HandSheet, kept: readonly KeptEntry[]): HandSheet {
  return kept
    .filter(({ workOrderId, refused }) => workOrderId === sheet.id && refused === undefined)
    .reduce((standing, { body }) => withEntry(layOne(standing, body as unknown as Body), body as unknown as Body), sheet)
}

/** A length is kept among the measured values, pieces as the step's answer. */
function isAnswered(task: HandTask, { answer, given, measurementKey }: HandStep): boolean {
  if (given !== null) return true
  return answer === 'measurement' && task.measurements.some(({ key, given: values }) => key === measurementKey && values.length > 0)
}

/** What comes next: the first step that wants an answer and has none. */
export function openStep(task: HandTask): HandStep | undefined {
  return task.steps.find(
    (step) =>
      !isAnswered(task, step) &&
      (step.answer !== 'measurement' || task.measurements.some(({ key, required }) => key === step.measurementKey && required)),
  )
}

/** The step answered before this one, where a wrong tap is put right; of a task that is worked through the last. */
export function stepBefore(task: HandTask, step: HandStep | undefined): HandStep | undefined {
  const until = step ? task.steps.findIndex(({ key }) => key === step.key) : task.steps.length
  return task.steps
    .slice(0, until)
    .filter((one) => isAnswered(task, one))
    .at(-1)
}

/** Every step has its answer and every required measurement its value. */
export function isWorkedThrough(task: HandTask): boolean {
  return openStep(task) === undefined
}

type Part = HandSheet['partsThatFit'][number]
const doneTasks = ({ tasks }: HandSheet): HandTask[] => tasks.filter(({ outcome }) => outcome === 'done')

/** Fitting parts of which the work has used one, and none is booked; whether the books have that many. */
function wanted(sheet: HandSheet, tasks: readonly HandTask[]): { part: Part; inStock: boolean }[] {
  const keyOf = (id: string): string | null => sheet.partsThatFit.find(({ partId }) => partId === id)?.componentKey ?? null
  return tasks
    .filter(({ replacesComponent }) => replacesComponent)
    .flatMap(({ parts }) => parts)
    .flatMap(({ componentKey, quantity }) => {
      const used = sheet.partsUsed.filter(({ partId }) => keyOf(partId) === componentKey).reduce((sum, part) => sum + part.quantity, 0)
      if (used >= quantity) return []
      return sheet.partsThatFit
        .filter((part) => part.componentKey === componentKey)
        .map((part) => ({ part, inStock: part.onHand >= quantity - used }))
    })
}

/** The server asks for these at the end: what lies on the shelf by the books and went in is booked. */
export const partsToBook = (sheet: HandSheet, tasks: readonly HandTask[] = doneTasks(sheet)): Part[] =>
  wanted(sheet, tasks).flatMap(({ part, inStock }) => (inStock ? [part] : []))

/** Also those that the books say are not there: one may have lain there all the same. */
export const partsOfWork = (sheet: HandSheet, tasks: readonly HandTask[] = doneTasks(sheet)): Part[] =>
  wanted(sheet, tasks).map(({ part }) => part)

/** What a typed value means, said before it is sent; the server judges the same way. */
export function sayMeasured(measurement: Pick<HandMeasurement, 'planLimit' | 'neverBelow'>, mm: number): string | null {
  if (measurement.neverBelow !== null && mm < measurement.neverBelow)
    return 'Below the limit for this type: replace now, or tag it out; it cannot be handed back.'
  if (measurement.planLimit !== null && mm <= measurement.planLimit) return 'At the limit for replacing: a replacement will be asked for.'
  return null
}

/**
 * A point that was lost, or a length typed in another unit; taken all the same where it is so.
 * @param value in mm, or pieces
 */
export function sayImplausible(
  { plausibleFrom: from = null, plausibleTo: to = null }: Pick<HandMeasurement, 'plausibleFrom' | 'plausibleTo'>,
  value: number,
  say: (limit: number) => string,
): string | null {
  if ((from === null || value >= from) && (to === null || value <= to)) return null
  const ends = from === null ? `at most ${say(to ?? 0)}` : to === null ? `at least ${say(from)}` : `${say(from)} to ${say(to)}`
  return `The plan expects ${ends}. Look once more at the number and its unit; keep it if it is so.`
}
