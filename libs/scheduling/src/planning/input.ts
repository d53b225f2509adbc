/** What the planner reads for a chunk of one warehouse's machines. */
import type { Day, MachineToPlan, MachineTypeFacts, PlanTask, WarehouseCalendar } from '../model.js'
import type { UseElsewhere } from '../usage/pools.js'

/** Life of a component type from the organisation's removals and parts in place, with the trade's range as prior. */
export interface LifeOfComponent {
  /** Weibull, posterior mode; in years. */
  shape: number
  scaleYears: number
  /** Covariance of ln shape and ln scale, in that order; left out: both are taken as known. */
  logCovariance?: readonly [readonly [number, number], readonly [number, number]]
  removals: number
  failures: number
  /** Lower 95 % bound of the shape from the data alone; null where they give none. */
  shapeLower95: number | null
}

/** Machines with a past not known to us, of the whole warehouse: their first looks share the hours there are. */
export interface FirstRound {
  technicianHoursAWeek: number
  registered: readonly { machineTypeId: string; registeredOn: Day; machines: number }[]
}

export interface PlanningInput {
  today: Day
  calendar: WarehouseCalendar
  /** The people's lead, days (assumption: 7). */
  leadDays: number
  types: Readonly<Record<string, MachineTypeFacts>>
  tasksByType: Readonly<Record<string, readonly PlanTask[]>>
  machines: readonly MachineToPlan[]
  /** What machines of the organisation's other warehouses did; a type without evidence here is taken to be used likewise. */
  useElsewhere?: readonly UseElsewhere[]
  /** Rule 18: what first looks are fitted into; null where the hours there are is not known. */
  firstRound?: FirstRound | null
  /** By component key. */
  life: Readonly<Record<string, LifeOfComponent>>
}
