/** What a measured value means (rule 15, and 'A measurement beyond a limit is not implausible but a finding'). */
export interface MeasuringLimits {
  key: string
  name: string
  /** At or below it the part is worn out by plan; null: none. mm. */
  planLimitMm: number | null
  /** Below it the machine cannot be handed back; null: none. mm. */
  neverBelowMm: number | null
  /** Key of the task that a worn value asks for; null: none. */
  opensTaskKey: string | null
}

export type Measured = 'within' | 'beyond_plan_limit' | 'below_never_below'

/** @param valueMm mm, ≥ 0   @throws RangeError for anything else, NaN included */
export function judgeMeasured(limits: Pick<MeasuringLimits, 'planLimitMm' | 'neverBelowMm'>, valueMm: number): Measured {
  if (!(valueMm >= 0) || !Number.isFinite(valueMm)) throw new RangeError('A length must be a number of millimetres, 0 or more.')
  if (limits.neverBelowMm !== null && valueMm < limits.neverBelowMm) return 'below_never_below'
  if (limits.planLimitMm !== null && valueMm <= limits.planLimitMm) return 'beyond_plan_limit'
  return 'within'
}

export const BELOW_NEVER_BELOW = 'Below the limit for this type: replace now, or tag it out; it cannot be handed back.'
