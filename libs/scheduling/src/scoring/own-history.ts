/**
 * How far an organisation's own dates could be trusted: for each past reset of a task by use, the forecast that the planner
 * would have made on the day after from the evidence of that time, against the day on which the ledger shows the amount was
 * reached. Pure; nothing has to have been kept but evidence and records.
 */
import type { Day, MachineToPlan, PlanTask } from '../model.js'
import { chanceDueBy } from '../combine/first-due.js'
import { machineContext, type PlanningContext, preparePlanning } from '../planning/context.js'
import type { PlanningInput } from '../planning/input.js'
import { stripsPerUnit } from '../planning/moments.js'
import { outlookOf } from '../planning/outlook.js'
import { dayOfTotal } from '../planning/usage-past.js'
import type { ScoredDue } from './scored-due.js'

const MONTH_DAYS = 30.4375

export interface Resets {
  machineId: string
  serviceTaskId: string
  /** Days on which it was done, rising. */
  doneOn: readonly Day[]
}

/** Ledger total at the end of a day, by the intervals; within one the strips are taken as even. */
function totalAfter({ usage }: Pick<MachineToPlan, 'usage'>, day: Day): number {
  return usage.reduce((sum, { from, to, strips }) => {
    if (from > day) return sum
    return sum + (to <= day ? strips : (strips * (day - from + 1)) / (to - from + 1))
  }, 0)
}

/** The machine as its evidence stood at the end of a day; what came later is cut off, what reached beyond had not come. */
function asOf(machine: MachineToPlan, day: Day): MachineToPlan {
  const usage = machine.usage.filter(({ to }) => to <= day)
  const stripsTotal = usage.reduce((sum, { strips }) => sum + strips, 0)
  return { ...machine, usage, stripsTotal, lastDone: {}, open: {}, newest: {}, skipped: {}, findings: [], situations: [] }
}

/** One reset and the day on which its amount was reached. */
export interface ReachedReset {
  machineId: string
  serviceTaskId: string
  doneOn: Day
  /** The true day. */
  dueOn: Day
}

export interface HistoryDue extends ScoredDue, Pick<ReachedReset, 'machineId' | 'serviceTaskId' | 'doneOn'> {
  trueOn: Day
}

type UsageTrigger = Extract<PlanTask['triggers'][number], { kind: 'usage' }>

interface Asked {
  machine: MachineToPlan
  task: PlanTask
  amount: number
  doneOn: Day
  dueOn: Day
  lastIntervalDays: number | null
}

function asksOf(input: PlanningInput, resets: readonly Resets[]): Asked[] {
  const machines = new Map(input.machines.map((machine) => [machine.machineId, machine]))
  return resets.flatMap(({ machineId, serviceTaskId, doneOn }) => {
    const machine = machines.get(machineId)
    const facts = machine && input.types[machine.machineTypeId]
    const task = machine && input.tasksByType[machine.machineTypeId]?.find((one) => one.serviceTaskId === serviceTaskId)
    const trigger = task?.triggers.find((one): one is UsageTrigger => one.kind === 'usage')
    const perUnit = facts && trigger ? stripsPerUnit(trigger.unit, facts) : null
    if (!machine || !task || !trigger || !perUnit) return []
    const amount = trigger.amount * perUnit
    const all = totalAfter(machine, input.today)
    let lastIntervalDays: number | null = null
    return doneOn.flatMap((day): Asked[] => {
      const wanted = totalAfter(machine, day) + amount
      const dueOn = wanted > all ? null : dayOfTotal({ usage: machine.usage, stripsTotal: all }, wanted)
      if (dueOn === null || dueOn <= day) return []
      const asked = { machine, task, amount, doneOn: day, dueOn, lastIntervalDays }
      lastIntervalDays = dueOn - day
      return [asked]
    })
  })
}

function scoredOf(context: PlanningContext, { machine, task, doneOn, dueOn, lastIntervalDays }: Asked, cluster: string): HistoryDue | null {
  const then = asOf(machine, doneOn)
  const last = { doneOn, anchorOn: doneOn, anchorSteps: 0, stripsTotal: then.stripsTotal }
  const of = machineContext(context, { ...then, lastDone: { [task.serviceTaskId]: last } })
  const outlook = outlookOf(of, { ...task, triggers: task.triggers.filter(({ kind }) => kind === 'usage') })
  const { early, likely, late } = outlook.range
  if (early === null || outlook.firstLook) return null
  const moments = outlook.moments.map(({ moment }) => moment)
  const calendar = task.triggers.find((trigger) => trigger.kind === 'calendar')
  return {
    machineId: machine.machineId,
    serviceTaskId: task.serviceTaskId,
    doneOn,
    trigger: 'usage',
    origin: 'reset',
    cluster,
    early,
    likely,
    late,
    trueOn: dueOn,
    chance: { before: chanceDueBy(of.usage, moments, dueOn - 1), upTo: chanceDueBy(of.usage, moments, dueOn) },
    fixedMonthsOn: calendar?.months === undefined ? null : doneOn + Math.round(calendar.months * MONTH_DAYS),
    lastRepeatedOn: lastIntervalDays === null ? null : doneOn + lastIntervalDays,
  }
}

/** Resets whose amount has been reached, with their true days; cheap, no forecast is made. The newest reset first. */
export function reachedResets(input: PlanningInput, resets: readonly Resets[]): ReachedReset[] {
  return asksOf(input, resets)
    .map(({ machine: { machineId }, task: { serviceTaskId }, doneOn, dueOn }) => ({ machineId, serviceTaskId, doneOn, dueOn }))
    .sort((a, b) => b.doneOn - a.doneOn)
}

export interface HistoryAsked {
  /** Newest resets that are asked for; the fleet is prepared once for each of their days. */
  atMost?: number
  /** Left out: all. */
  wanted?: (reset: ReachedReset) => boolean
}

/**
 * Resets whose amount is not reached yet have no true day and are left out; so are first resets before any evidence.
 * @param input as for the planning pass of today   @param cluster names the warehouse
 */
export function scoreOwnHistory(
  input: PlanningInput,
  resets: readonly Resets[],
  cluster: string,
  { atMost = 500, wanted = () => true }: HistoryAsked = {},
): HistoryDue[] {
  const newest = asksOf(input, resets)
    .filter(({ machine: { machineId }, task: { serviceTaskId }, doneOn, dueOn }) => wanted({ machineId, serviceTaskId, doneOn, dueOn }))
    .sort((a, b) => b.doneOn - a.doneOn)
    .slice(0, atMost)
  const contexts = new Map<Day, PlanningContext>()
  const contextOn = (day: Day): PlanningContext => {
    const known = contexts.get(day)
    if (known) return known
    const context = preparePlanning({ ...input, today: day + 1, machines: input.machines.map((machine) => asOf(machine, day)) })
    contexts.set(day, context)
    return context
  }
  return newest.flatMap((asked) => scoredOf(contextOn(asked.doneOn), asked, cluster) ?? [])
}
