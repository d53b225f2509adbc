/** What the planner works out once for a chunk: the fleet's use, wear rates by type, the table of days. */
import type { Day, MachineToPlan, MachineTypeFacts, PlanTask } from '../model.js'
import { type FleetContext, prepareFleet } from '../usage/fleet.js'
import { forecastUsage, type UsageForecast } from '../usage/forecast.js'
import type { WearRate } from '../wear/brushes.js'
import { type FleetWear, type MeasuredSet, poolWear, rateBefore } from '../wear/rates.js'
import type { PlanningInput } from './input.js'
import type { WearOutlook } from './wear-moments.js'
import { lengthsByUse } from './wear-use.js'

export interface PlanningContext {
  input: PlanningInput
  fleet: FleetContext
  wear: Readonly<Record<string, FleetWear>>
  /** Least-cost ages in years by part and costs, worked out once; null: does not pay, or the data cannot tell. */
  leastCostYears: Map<string, number | null>
  /** Rule 18, by day of registration. */
  stretches: Map<Day, number>
}

const BRUSH_SET = 'motor_brush_set'

function earlierSets({ earlier = [] }: MachineToPlan): MeasuredSet[] {
  return earlier.filter(({ componentKey }) => componentKey === BRUSH_SET)
}

function setsOf(fleet: FleetContext, machine: MachineToPlan): MeasuredSet[] {
  const sets = [...machine.components.filter(({ componentKey }) => componentKey === BRUSH_SET), ...earlierSets(machine)]
  if (machine.usage.length === 0 || sets.every(({ lengths }) => lengths.length === 0)) return sets
  const usage = forecastUsage(fleet, machine)
  return sets.map((set) => ({ ...set, lengths: lengthsByUse(usage, set) }))
}

export function preparePlanning(input: PlanningInput): PlanningContext {
  const fleet = prepareFleet(input)
  const wear: Record<string, FleetWear> = {}
  for (const [typeId, facts] of Object.entries(input.types)) {
    const machines = input.machines.filter(({ machineTypeId }) => machineTypeId === typeId)
    wear[typeId] = poolWear(
      machines.map((machine) => setsOf(fleet, machine)),
      facts,
    )
  }
  return { input, fleet, wear, leastCostYears: new Map(), stretches: new Map() }
}

export interface MachineContext extends PlanningContext {
  machine: MachineToPlan
  facts: MachineTypeFacts
  tasks: readonly PlanTask[]
  usage: UsageForecast
  wearByTask: Map<string, WearOutlook | null>
}

/** What is known of the wear of a machine's brush set before its own measurements; null: its type is not in the books. */
export function wearRateOf({ wear, input }: PlanningContext, machine: MachineToPlan): WearRate | null {
  const [fleet, facts] = [wear[machine.machineTypeId], input.types[machine.machineTypeId]]
  return fleet && facts ? rateBefore(fleet, earlierSets(machine), facts) : null
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
