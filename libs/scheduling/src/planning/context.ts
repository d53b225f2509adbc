/** What the planner works out once for a chunk: the fleet's use, wear rates by type, the table of days. */
import type { Day, MachineToPlan, MachineTypeFacts, PlanTask } from '../model.js'
import { type FleetContext, prepareFleet } from '../usage/fleet.js'
import { forecastUsage, type UsageForecast } from '../usage/forecast.js'
import { poolWear, type WearRate } from '../wear/brushes.js'
import type { PlanningInput } from './input.js'
import type { WearOutlook } from './wear-moments.js'

export interface PlanningContext {
  input: PlanningInput
  fleet: FleetContext
  wear: Readonly<Record<string, WearRate>>
  /** Least-cost ages in years by part and costs, worked out once; null: does not pay, or the data cannot tell. */
  leastCostYears: Map<string, number | null>
  /** Rule 18, by day of registration. */
  stretches: Map<Day, number>
}

export function preparePlanning(input: PlanningInput): PlanningContext {
  const wear: Record<string, WearRate> = {}
  for (const [typeId, facts] of Object.entries(input.types)) {
    const sets = input.machines
      .filter((machine) => machine.machineTypeId === typeId)
      .flatMap(({ components }) => components.filter(({ componentKey }) => componentKey === 'motor_brush_set'))
    wear[typeId] = poolWear(sets, facts)
  }
  return { input, fleet: prepareFleet(input), wear, leastCostYears: new Map(), stretches: new Map() }
}

export interface MachineContext extends PlanningContext {
  machine: MachineToPlan
  facts: MachineTypeFacts
  tasks: readonly PlanTask[]
  usage: UsageForecast
  wearByTask: Map<string, WearOutlook | null>
}

/** @throws RangeError where a figure of the machine is no number: the caller marks it 'cannot be computed' */
export function machineContext(context: PlanningContext, machine: MachineToPlan): MachineContext {
  const facts = context.input.types[machine.machineTypeId]
  if (!facts) throw new RangeError('Its machine type is not in the books.')
  if (!Number.isFinite(machine.stripsTotal)) throw new RangeError('Its ledger total is no number.')
  for (const { from, to, strips } of machine.usage)
    if (!Number.isFinite(strips) || strips < 0 || to < from)
      throw new RangeError('A piece of its evidence of use is no number, negative, or ends before it begins.')
  return {
    ...context,
    machine,
    facts,
    tasks: context.input.tasksByType[machine.machineTypeId] ?? [],
    usage: forecastUsage(context.fleet, machine),
    wearByTask: new Map(),
  }
}
