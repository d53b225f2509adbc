import { convert } from '@tapewarden/reliability'
import type { MeasuringLimits } from '@tapewarden/scheduling'
import type { Reach, Skill, Trigger } from '@tapewarden/shared'
import type { OrderDetailRow, TaskRow } from './order-rows.js'

/** Motor brushes where a type states none: common practice, to be confirmed per type. */
const BRUSH_PLAN_LIMIT_MM = 9.5
const BRUSH_NEVER_BELOW_MM = 6.4

/** As it was entered; exact, so that 3/8 in is the limit of 9.525 mm and not a hair below it. */
export const inMm = ({ value, unit }: { value: number; unit: 'mm' | 'in' | 'count' }): number =>
  unit === 'in' ? convert(value, 'in', 'mm') : value

type PlanMeasurement = TaskRow['measurements'][number]
type TypeLimits = Pick<OrderDetailRow, 'brushPlanLimitMm' | 'brushNeverBelowMm'>

export function limitsOf(measurement: PlanMeasurement, type: TypeLimits): MeasuringLimits {
  const fromType = (value: number | 'type' | undefined, stated: number | null, usual: number) =>
    value === 'type' ? (stated ?? usual) : (value ?? null)
  return {
    key: measurement.key,
    name: measurement.name,
    planLimitMm: fromType(measurement.planLimit, type.brushPlanLimitMm, BRUSH_PLAN_LIMIT_MM),
    neverBelowMm: fromType(measurement.neverBelow, type.brushNeverBelowMm, BRUSH_NEVER_BELOW_MM),
    opensTaskKey: measurement.opensTaskKey ?? null,
  }
}

/** Says where a limit comes from: a default must not pass for the maker's word. */
export function limitsFrom(measurement: PlanMeasurement, type: TypeLimits): string {
  if (measurement.planLimit !== 'type' && measurement.neverBelow !== 'type')
    return measurement.planLimit === undefined && measurement.neverBelow === undefined
      ? 'No limit is stated.'
      : 'As stated in the service plan.'
  return type.brushPlanLimitMm !== null && type.brushNeverBelowMm !== null
    ? 'As stated for this machine type.'
    : 'Common practice; confirm them for this machine type.'
}

const REACHES: readonly Reach[] = ['outside', 'cover_off', 'inside']
const SKILLS: readonly Skill[] = ['instructed', 'technician', 'electrical']

export function furthestReach(tasks: readonly { reach: Reach }[]): Reach {
  return REACHES[Math.max(0, ...tasks.map((task) => REACHES.indexOf(task.reach)))] ?? 'outside'
}
export function highestSkill(tasks: readonly { skill: Skill }[]): Skill {
  return SKILLS[Math.max(0, ...tasks.map((task) => SKILLS.indexOf(task.skill)))] ?? 'instructed'
}

/** A task that is there to put a new one in: wear or the least-cost age asks for it, or it takes a part of its own component and no calendar asks. */
export function replacesComponent(task: Pick<TaskRow, 'taskKey' | 'componentKey' | 'parts' | 'triggers'>): boolean {
  if (task.componentKey === null) return false
  const asks = (...kinds: Trigger['kind'][]): boolean => task.triggers.some(({ kind }) => kinds.includes(kind))
  if (task.taskKey.startsWith('replace_') || asks('wear', 'least_cost_age')) return true
  const byCalendar = asks('calendar', 'calendar_month')
  return !byCalendar && task.parts.some((part) => part.componentKey === task.componentKey)
}
