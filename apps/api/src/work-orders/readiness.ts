/** What stands between an order and 'done', and who may do what with it next. Pure: the same on every device and on the server. */
import {
  functionCheckFor,
  type FunctionCheck,
  judgeFunctionCheck,
  judgeMeasured,
  BELOW_NEVER_BELOW,
  sayMeasured,
} from '@tapewarden/scheduling'
import type { Role, workOrderActionSchema } from '@tapewarden/shared'
import type { Units } from '@tapewarden/shared/vocabulary'
import type { z } from 'zod'
import { furthestReach, limitsOf, replacesComponent } from './limits.js'
import type { FittingPart, MeasurementRow, OrderDetailRow, PartUseRow, TaskRow } from './order-rows.js'

export interface OrderFacts {
  order: OrderDetailRow
  tasks: readonly TaskRow[]
  measurements: readonly MeasurementRow[]
  partsUsed: readonly PartUseRow[]
  parts: readonly FittingPart[]
  /** Of whoever asks: what is said to them is said in these. */
  units: Units
}
export interface Missing {
  code: string
  taskId: string | null
  text: string
}

/** By how far the work that was done reached; a task not done opened nothing that needs a strip cut. */
export function checkOf({ order, tasks }: OrderFacts): FunctionCheck {
  const began = tasks.filter((task) => task.outcome !== 'not_done')
  return functionCheckFor(furthestReach(began), {
    shortestStripMm: order.shortestStripMm,
    longestStripMm: order.longestStripMm,
    lengthKeysMm: order.lengthKeysMm,
    meanStripMm: order.meanStripMm,
    stripToleranceMm: order.stripToleranceMm,
    electric: order.supply !== 'none',
  })
}

function isStepAnswered(task: TaskRow, step: TaskRow['steps'][number], facts: OrderFacts): boolean {
  if (step.answer === 'measurement')
    return lastMeasured(facts, step.measurementKey ?? '') !== null || task.answers[step.measurementKey ?? ''] !== undefined
  const answer = task.answers[step.key]?.answer
  return step.answer === 'tick' ? answer === true : answer !== undefined && answer !== ''
}

/** The newest value that counts, whether as found or as left. */
export function lastMeasured({ measurements }: Pick<OrderFacts, 'measurements'>, key: string): MeasurementRow | null {
  return measurements.filter((measurement) => measurement.name === key && measurement.state === 'counted').at(-1) ?? null
}

/** What a task still needs before it can be called done. */
export function missingOfTask(task: TaskRow, facts: OrderFacts): Missing[] {
  const missing: Missing[] = task.steps
    .filter((step) => !isStepAnswered(task, step, facts))
    .map((step) => ({ code: 'STEP_NOT_ANSWERED', taskId: task.id, text: `${task.name}: ${step.text}` }))
  for (const measurement of task.measurements)
    if (measurement.required && !lastMeasured(facts, measurement.key) && task.answers[measurement.key] === undefined)
      missing.push({ code: 'MEASUREMENT_MISSING', taskId: task.id, text: `${task.name}: ${measurement.name} is not measured.` })
  return missing
}

/** Below never-below, and the part neither replaced in this order nor the machine tagged out. */
function leftBelow(task: TaskRow, facts: OrderFacts): Missing[] {
  const replaced = facts.tasks.some(
    (other) => other.outcome === 'done' && replacesComponent(other) && other.componentKey === task.componentKey,
  )
  if (facts.order.taggedOut) return []
  return task.measurements.flatMap((measurement) => {
    const last = lastMeasured(facts, measurement.key)
    const limits = limitsOf(measurement, facts.order)
    if (!last || judgeMeasured(limits, last.valueMm) !== 'below_never_below' || (replaced && last.whenTaken === 'as_found')) return []
    return [
      {
        code: 'BELOW_NEVER_BELOW',
        taskId: task.id,
        text: `${limits.name} ${sayMeasured(last.valueMm, facts.units)}. ${BELOW_NEVER_BELOW}`,
      },
    ]
  })
}

function partsMissing(task: TaskRow, facts: OrderFacts): Missing[] {
  if (task.outcome !== 'done' || !replacesComponent(task)) return []
  return task.parts.flatMap(({ componentKey, quantity }) => {
    const used = facts.partsUsed.filter((part) => part.componentKey === componentKey).reduce((sum, part) => sum + part.quantity, 0)
    const onShelf = facts.parts.some((part) => part.inBooks && part.componentKey === componentKey && part.onHand >= quantity - used)
    if (used >= quantity || !onShelf) return []
    return [
      {
        code: 'PART_NOT_BOOKED',
        taskId: task.id,
        text: `${task.name}: book the part that was used (${componentKey.replaceAll('_', ' ')}).`,
      },
    ]
  })
}

function functionCheckMissing(facts: OrderFacts): Missing[] {
  const check = checkOf(facts)
  const { functionCheck } = facts.order
  if (check.kind === 'none' || facts.order.taggedOut) return []
  if (!functionCheck) return [{ code: 'FUNCTION_CHECK_MISSING', taskId: null, text: `The ${check.kind} function check is not done.` }]
  const judged = judgeFunctionCheck(
    check,
    functionCheck as unknown as Parameters<typeof judgeFunctionCheck>[1],
    facts.order.drive === 'electric',
    facts.units,
  )
  if (judged.withinTolerance === false)
    return [{ code: 'OUT_OF_TOLERANCE', taskId: null, text: `Strips are out of tolerance. ${check.ifOutOfTolerance[0] ?? ''}` }]
  return judged.missing.map((text) => ({ code: 'FUNCTION_CHECK_MISSING', taskId: null, text }))
}

/** Empty: the order may be finished. */
export function missingForDone(facts: OrderFacts): Missing[] {
  const { order, tasks } = facts
  const missing: Missing[] = []
  if (order.acknowledgedAt === null)
    missing.push({ code: 'CAUTIONS_NOT_ACKNOWLEDGED', taskId: null, text: 'The cautions are not acknowledged.' })
  for (const task of tasks) {
    if (task.outcome === null) missing.push({ code: 'TASK_NOT_ANSWERED', taskId: task.id, text: `${task.name}: done, or not and why?` })
    if (task.outcome === 'done') missing.push(...missingOfTask(task, facts))
    missing.push(...leftBelow(task, facts), ...partsMissing(task, facts))
  }
  return [...missing, ...functionCheckMissing(facts)]
}

type Action = z.infer<typeof workOrderActionSchema>
const ON_SITE: Readonly<Record<OrderDetailRow['state'], readonly Action[]>> = {
  drafted: [],
  issued: ['accept', 'start', 'hand_back'],
  accepted: ['start', 'hand_back'],
  under_way: ['wait', 'finish', 'hand_back'],
  waiting: ['resume', 'hand_back'],
  done: [],
  looked_over: [],
  returned: ['accept', 'start', 'hand_back'],
  cancelled: [],
}
const AT_THE_DESK: Readonly<Record<OrderDetailRow['state'], readonly Action[]>> = {
  drafted: ['issue', 'cancel'],
  issued: ['issue', 'cancel'],
  accepted: ['issue', 'cancel'],
  under_way: ['cancel'],
  waiting: ['cancel'],
  done: ['look_over', 'return'],
  looked_over: ['return'],
  returned: ['issue', 'cancel'],
  cancelled: [],
}

export function allowedActions(state: OrderDetailRow['state'], role: Role): Action[] {
  const desk = role === 'administrator' || role === 'manager'
  return [...(desk ? AT_THE_DESK[state] : []), ...ON_SITE[state]]
}
