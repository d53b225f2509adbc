import { acknowledgementFor, cautionsFor, judgeFunctionCheck } from '@tapewarden/scheduling'
import { type SheetTask, type WorkOrderSheet } from '@tapewarden/shared'
import type { Who } from '../http/call.js'
import { whySentence } from '../occurrences/explain.js'
import { localDateOf } from '../use/local-day.js'
import type { Rows } from '../use/rows.js'
import { furthestReach, limitsFrom, limitsOf, replacesComponent } from './limits.js'
import { measurementsOf, type OrderDetailRow, orderOf, partsThatFit, partsUsedOn, type TaskRow, tasksOf } from './order-rows.js'
import { summaryOf } from './order-list.js'
import { allowedActions, checkOf, missingForDone, type OrderFacts } from './readiness.js'

type Reader = Rows & { who: Who; now: Date }

export async function factsOf(
  rows: Rows & { who: Who },
  workOrderId: string,
  lock = false,
  reach = rows.who.warehouseIds,
): Promise<OrderFacts> {
  const order = await orderOf(rows, workOrderId, lock, reach)
  return {
    order,
    tasks: await tasksOf(rows, [workOrderId]),
    measurements: await measurementsOf(rows, workOrderId),
    partsUsed: await partsUsedOn(rows, workOrderId),
    parts: await partsThatFit(rows, order.machineTypeId, order.warehouseId),
    units: rows.who.units,
  }
}

function taskOf(task: TaskRow, facts: OrderFacts, today: string, who: Who): SheetTask {
  return {
    id: task.id,
    occurrenceId: task.occurrenceId,
    serviceTaskId: task.serviceTaskId,
    taskKey: task.taskKey,
    name: task.name,
    componentKey: task.componentKey,
    minutes: task.minutes,
    skill: task.skill,
    reach: task.reach,
    safetyCheck: task.safetyCheck,
    atTheBench: task.atTheBench,
    usesSolvent: task.usesSolvent,
    replacesComponent: replacesComponent(task),
    why: whySentence({ governing: task.governing, state: 'dated', reason: null, basis: task.basis, likelyOn: task.nominalOn }, who),
    dueOn: task.dueOn,
    late: task.occurrenceState === 'open' && task.lateFrom !== null && task.lateFrom <= today,
    occurrenceState: task.occurrenceState,
    cautions: task.cautions,
    steps: task.steps.map((step) => ({ ...step, given: givenOf(task, step) })),
    measurements: task.measurements.map((measurement) => {
      const { planLimitMm, neverBelowMm } = limitsOf(measurement, facts.order)
      return {
        key: measurement.key,
        name: measurement.name,
        unit: measurement.unit,
        required: measurement.required,
        plausibleFrom: measurement.plausibleFrom ?? null,
        plausibleTo: measurement.plausibleTo ?? null,
        planLimit: planLimitMm,
        neverBelow: neverBelowMm,
        limitsFrom: limitsFrom(measurement, facts.order),
        given: facts.measurements.filter((given) => given.name === measurement.key),
      }
    }),
    parts: task.parts,
    outcome: task.outcome,
    notDoneReason: task.notDoneReason,
  }
}

function givenOf(task: TaskRow, step: TaskRow['steps'][number]): SheetTask['steps'][number]['given'] {
  const given = task.answers[step.answer === 'measurement' ? (step.measurementKey ?? step.key) : step.key]
  return given === undefined ? null : { answer: given.answer, at: given.at, byName: given.by }
}

function cautionsOf(order: OrderDetailRow, tasks: readonly TaskRow[]): WorkOrderSheet['cautions'] {
  return cautionsFor({
    supply: order.supply,
    heater: order.heater,
    reach: furthestReach(tasks),
    usesSolvent: tasks.some((task) => task.usesSolvent),
    own: tasks.flatMap((task) => task.cautions),
  })
}

function functionCheckOf(facts: OrderFacts): WorkOrderSheet['functionCheck'] {
  const check = checkOf(facts)
  const stored = facts.order.functionCheck as WorkOrderSheet['functionCheck']['result']
  const judged = stored && check.kind !== 'none' ? judgeFunctionCheck(check, stored, facts.order.supply !== 'none', facts.units) : null
  return {
    ...check,
    asks: [...check.asks],
    instructions: [...check.instructions],
    ifOutOfTolerance: [...check.ifOutOfTolerance],
    result: stored ? { ...stored, withinTolerance: judged ? judged.withinTolerance : stored.withinTolerance } : null,
  }
}

function hintsOf({ order, tasks }: OrderFacts): string[] {
  const hints: string[] = []
  if (order.machineStatus === 'tagged_out')
    hints.push('The machine is tagged out. Finishing this order does not take the tag off; a manager does.')
  for (const { name } of tasks.filter(({ outcome, occurrenceState }) => outcome === null && occurrenceState === 'done'))
    hints.push(`${name}: done meanwhile, on another order or a round. Look before you do it again.`)
  if (order.mayOpen === 'service_firm_only')
    hints.push(
      `Not ours to open: ask ${order.serviceFirm || 'its service firm'}${order.serviceTelephone ? `, ${order.serviceTelephone}` : ''}.`,
    )
  if (tasks.some((task) => task.skill === 'electrical')) hints.push('A qualified electrical person does the electrical task.')
  if (tasks.some((task) => task.atTheBench)) hints.push('Part of this is done at the bench.')
  return hints
}

export async function sheetOf(rows: Reader, workOrderId: string, reach = rows.who.warehouseIds): Promise<WorkOrderSheet> {
  const facts = await factsOf(rows, workOrderId, false, reach)
  const { order, tasks } = facts
  const today = localDateOf(rows.now, order.zone)
  const entries = await rows.rows<WorkOrderSheet['entries'][number] & Record<string, unknown>>(
    `SELECT e.id, e.kind, p.name AS "personName", e.made_at AS "madeAt", e.received_at AS "receivedAt", e.content, t.name AS "partName", e.outcome, e.outcome_reason AS "outcomeReason",
       CASE WHEN e.settled_at IS NULL THEN NULL ELSE jsonb_build_object('at', e.settled_at, 'byName', e.settled_by, 'counts', e.settled_counts, 'note', e.settled_note) END AS settled
     FROM work_entry e LEFT JOIN person p ON p.organisation_id = e.organisation_id AND p.id = e.person_id
       LEFT JOIN part t ON t.organisation_id = e.organisation_id AND t.id = CASE WHEN e.kind IN ('use_part', 'put_back_part') THEN (e.content ->> 'partId')::uuid END
     WHERE e.organisation_id = $1 AND e.work_order_id = $2 ORDER BY e.received_at, e.id LIMIT 500`,
    [workOrderId],
  )
  const open = order.state !== 'done' && order.state !== 'looked_over' && order.state !== 'cancelled'
  return {
    ...summaryOf(order, tasks, today),
    machine: {
      id: order.machineId,
      labelCode: order.labelCode,
      typeName: order.typeName,
      status: order.machineStatus,
      serialNumber: order.serialNumber,
      drive: order.drive,
      supply: order.supply,
      heater: order.heater,
      mayOpen: order.mayOpen,
      serviceFirm: order.serviceFirm,
      serviceTelephone: order.serviceTelephone,
      tape: order.tape,
      note: order.machineNote,
    },
    cautions: cautionsOf(order, tasks),
    acknowledgement: acknowledgementFor({ supply: order.supply, reach: furthestReach(tasks) }),
    acknowledged: order.acknowledgedAt === null ? null : { at: order.acknowledgedAt, byName: order.acknowledgedByName ?? '' },
    tasks: tasks.map((task) => taskOf(task, facts, today, rows.who)),
    functionCheck: functionCheckOf(facts),
    partsUsed: facts.partsUsed.map(({ id, partId, partName, quantity }) => ({ id, partId, partName, quantity })),
    partsThatFit: facts.parts.filter(({ inBooks }) => inBooks),
    startedAt: order.startedAt,
    finishedAt: order.finishedAt,
    minutesWorked: order.minutesWorked,
    taggedOut: order.taggedOut,
    cancelReason: order.cancelReason,
    note: order.note,
    entries,
    allowed: allowedActions(order.state, rows.who.role),
    missing: open ? missingForDone(facts) : [],
    hints: hintsOf(facts),
  }
}
