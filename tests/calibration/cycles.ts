/** From reset to true due, for one trigger of one machine; asked for its forecast at the reset and thirty days ahead. */
import { type MachineToPlan, type Outlook, type PlanningContext, chanceDueBy, machineContext, outlookOf } from '@tapewarden/scheduling'
import type { Books, PartOnRecord } from './books.js'
import type { DueRecord, ReminderRecord, SimulationRecord } from './record.js'
import { GREASE, LOOK, MEASURE_WHEN_WORN, REPLACE } from './tasks.js'

export const DAYS_AHEAD = 30

export interface Cycle {
  trigger: DueRecord['trigger']
  /** Day whose end the clock started at. */
  resetOn: number
  /** null: after the end of what was simulated. */
  trueOn: number | null
  lastIntervalDays: number | null
  /** Of wear and life: the part whose clock it is. */
  part: PartOnRecord | null
  /** false: the start is not on record, so there is nothing to say at the reset. */
  resetKnown: boolean
  asked: { reset: boolean; ahead: boolean }
  firstSaidOn: number | null
  closed: boolean
}

export const newCycle = (
  trigger: Cycle['trigger'],
  resetOn: number,
  trueOn: number | null,
  more: { lastIntervalDays?: number | null; part?: PartOnRecord | null; resetKnown?: boolean } = {},
): Cycle => ({
  trigger,
  resetOn,
  trueOn,
  lastIntervalDays: more.lastIntervalDays ?? null,
  part: more.part ?? null,
  resetKnown: more.resetKnown ?? true,
  asked: { reset: false, ahead: false },
  firstSaidOn: null,
  closed: false,
})

/** The machine as if this cycle's reset had been the last, whatever was done since. */
function asThen(books: Books, { trigger, resetOn, part }: Cycle): MachineToPlan {
  if (trigger === 'usage') return books.toPlan({ lastDone: { [GREASE.serviceTaskId]: resetOn } })
  if (trigger === 'wear') return books.toPlan(part ? { brushes: part } : {})
  return books.toPlan({ lastDone: { [LOOK.serviceTaskId]: resetOn }, ...(part ? { blade: part } : {}) })
}

function outlookFor(context: PlanningContext, books: Books, cycle: Cycle): { outlook: Outlook; usage: Parameters<typeof chanceDueBy>[0] } {
  const machine = machineContext(context, { ...asThen(books, cycle), open: {} })
  const { usage } = machine
  if (cycle.trigger === 'usage') return { outlook: outlookOf(machine, GREASE), usage }
  if (cycle.trigger === 'life') return { outlook: outlookOf(machine, LOOK), usage }
  const replace = outlookOf(machine, REPLACE)
  return { outlook: replace.governing ? replace : outlookOf(machine, MEASURE_WHEN_WORN), usage }
}

function ask(
  context: PlanningContext,
  books: Books,
  cycle: Cycle,
  origin: DueRecord['origin'],
  names: { cluster: string; habit: string },
): SimulationRecord | null {
  const { outlook, usage } = outlookFor(context, books, cycle)
  const { trigger, resetOn, trueOn, lastIntervalDays } = cycle
  const { early, likely, late } = outlook.range
  if (outlook.firstLook || early === null) return { what: 'undated', trigger, origin, ...names }
  const moments = outlook.moments.map(({ moment }) => moment)
  const before = trueOn === null ? 1 : chanceDueBy(usage, moments, trueOn - 1)
  const upTo = trueOn === null ? 1 : chanceDueBy(usage, moments, trueOn)
  const madeOn = context.input.today
  const typeIndex = books.typeIndex
  return { what: 'due', trigger, origin, ...names, typeIndex, resetOn, madeOn, early, likely, late, trueOn, before, upTo, lastIntervalDays }
}

/** On the evening after a reset, and on the day thirty days before the true due, which only the simulator knows. */
export function askCycle(
  context: PlanningContext,
  books: Books,
  cycle: Cycle,
  names: { cluster: string; habit: string },
): SimulationRecord[] {
  const { today } = context.input
  const out: (SimulationRecord | null)[] = []
  if (!cycle.asked.reset && today > cycle.resetOn) {
    cycle.asked.reset = true
    if (cycle.resetKnown) out.push(ask(context, books, cycle, 'reset', names))
  }
  if (!cycle.asked.ahead && cycle.trueOn !== null && today >= cycle.trueOn - DAYS_AHEAD) {
    cycle.asked.ahead = true
    if (today === cycle.trueOn - DAYS_AHEAD) out.push(ask(context, books, cycle, 'thirty_days_ahead', names))
  }
  return out.filter((record) => record !== null)
}

export function reminderOf(cycle: Cycle, leadDays: number, names: { cluster: string; habit: string }): ReminderRecord | null {
  const { trigger, trueOn, firstSaidOn } = cycle
  return trueOn === null ? null : { what: 'reminder', trigger, ...names, trueOn, firstSaidOn, leadDays }
}
