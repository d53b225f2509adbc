/** The form in which the product's own plans are written down, and what varies with the machine type. */
import type { planTaskRequestSchema, Trigger } from '@tapewarden/shared'
import type { z } from 'zod'

export type PlanTaskDefinition = z.output<typeof planTaskRequestSchema>

export interface PlanTypeFacts {
  drive: 'electric' | 'hand'
  supply: 'cord_and_plug' | 'wired_in' | 'none'
  heater: boolean
  feltBehindCover: boolean
}

type Required = 'key' | 'name' | 'minutes' | 'skill' | 'reach' | 'triggers' | 'steps'
export type TaskWords = Pick<PlanTaskDefinition, Required> & Partial<Omit<PlanTaskDefinition, Required>>

export function task(words: TaskWords): PlanTaskDefinition {
  return {
    componentKey: null,
    atTheBench: false,
    safetyCheck: false,
    usesSolvent: false,
    overrunCounts: false,
    measurements: [],
    cautions: [],
    parts: [],
    ...words,
  }
}

export type Step = PlanTaskDefinition['steps'][number]

export const tick = (key: string, text: string, caution?: string): Step => ({ key, text, answer: 'tick', ...(caution ? { caution } : {}) })
export const ask = (key: string, text: string, caution?: string): Step => ({
  key,
  text,
  answer: 'yes_no',
  ...(caution ? { caution } : {}),
})
export const choose = (key: string, text: string, choices: string[]): Step => ({ key, text, answer: 'choice', choices })
export const measure = (measurementKey: string, text: string): Step => ({
  key: `measure_${measurementKey}`,
  text,
  answer: 'measurement',
  measurementKey,
})

/** First steps of everything that opens a cover. */
export function powerOff({ supply }: PlanTypeFacts): Step[] {
  if (supply === 'cord_and_plug')
    return [tick('power_off', 'Pull the plug and keep it with you.', 'Dry hands, dry plug. Switches, keys and interlocks do not isolate.')]
  if (supply === 'wired_in')
    return [tick('power_off', 'Have it switched off at its isolator and locked.', 'The switch on the machine does not isolate.')]
  return []
}

/** Last steps of everything that opens a cover. */
export const coverOn = (): Step =>
  tick('cover_on', 'Cover on: start all its fastenings before any is tightened, wires clear of moving parts, small protective caps on.')

export const everyMonth: Trigger = { kind: 'calendar_month' }
/** Counted from the nominal point inside the window, from the actual day outside it. */
export const everyMonths = (months: number): Trigger => ({ kind: 'calendar', months, mode: 'nominal' })
export const everyStrips = (amount: number): Trigger => ({ kind: 'usage', unit: 'strips', amount })
export const byFinding: Trigger = { kind: 'finding' }
