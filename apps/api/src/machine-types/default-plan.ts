/** The product's own component types and service plan, in the contract's form. */
import { defaultPlanFor, type PlanTypeFacts } from '@tapewarden/scheduling'
import { COMPONENT_KEYS } from '@tapewarden/shared'
import type { NewPlanTask } from './service-plans.js'

const NOT_ON_HAND_DRIVEN = new Set<string>([
  'motor_brush_set',
  'heater',
  'chain',
  'interlock',
  'solenoid',
  'tape_sensor',
  'cord_and_plug',
  'control_board',
  'feed_clutch',
])

/** What a machine of this kind is made of, as far as its kind says. */
export function defaultComponentKeys(type: {
  drive: 'electric' | 'hand'
  heater: boolean
  lengthKeysMm?: readonly number[] | undefined
}): string[] {
  return COMPONENT_KEYS.filter((key) => {
    if (type.drive === 'hand' && NOT_ON_HAND_DRIVEN.has(key)) return false
    if (key === 'heater') return type.heater
    return key !== 'length_keys' || (type.lengthKeysMm ?? []).length > 0
  })
}

export function componentName(key: string): string | null {
  const words = key.replaceAll('_', ' ')
  return (COMPONENT_KEYS as readonly string[]).includes(key) ? words.charAt(0).toUpperCase() + words.slice(1) : null
}

export function defaultPlanTasks(type: PlanTypeFacts): NewPlanTask[] {
  return defaultPlanFor(type)
}
