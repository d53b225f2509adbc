/** Triggers and windows of a service plan, as people say them. */
import type { Answer } from '../client/api.js'
import { sayCount, sayLength, sayNumber, sayWord } from '../ui/format.js'

export type ServicePlan = Answer<'getServicePlan'>
export type Task = ServicePlan['tasks'][number]
export type Trigger = Task['triggers'][number]
/** A task as it is being written: without the ids that saving gives. */
export type DraftTask = Omit<Task, 'planTaskId' | 'serviceTaskId' | 'position'>

export type Units = Answer<'me'>['person']['units']

const DAYS_A_MONTH = 30.4

const intervalOf = ({ months, days }: { months?: number | undefined; days?: number | undefined }): string =>
  months === undefined ? sayCount(days ?? 1, 'day', 'days') : sayCount(months, 'month', 'months')

export function sayTrigger(trigger: Trigger, units: Units): string {
  switch (trigger.kind) {
    case 'calendar': {
      const base =
        trigger.mode === 'anchored'
          ? `, fixed dates from ${trigger.anchoredOn ?? 'the first'}`
          : trigger.mode === 'floating'
            ? ', from the day it was last done'
            : ''
      return `every ${intervalOf(trigger)}${base}`
    }
    case 'calendar_month':
      return 'once in each calendar month'
    case 'usage':
      return `every ${sayNumber(trigger.amount)} ${sayWord(trigger.unit)}`
    case 'wear':
      return trigger.planLimitMm === undefined ? 'by wear' : `by wear, at ${sayLength(trigger.planLimitMm, units)}`
    case 'life':
      return `when ${Math.round(trigger.failedFraction * 100)} % may have failed since the last look`
    case 'least_cost_age':
      return 'at the least-cost age, where the data support one'
    case 'finding':
      return 'when an inspection finds it'
    case 'function_check':
      return 'when strip lengths drift'
    case 'situation':
      return `when: ${sayWord(trigger.situation)}`
  }
}

/** Window and hard limit by rule 4, about as many days as the interval gives; null where a trigger has no interval of days. */
export function sayWindow(trigger: Trigger, safetyCheck: boolean): string | null {
  if (trigger.kind === 'usage')
    return `Window ± ${sayNumber(Math.floor(trigger.amount * 0.1))}, hard limit ${sayNumber(Math.floor(trigger.amount * 1.25))} ${sayWord(trigger.unit)}.`
  if (trigger.kind !== 'calendar') return null
  const days = trigger.days ?? Math.round((trigger.months ?? 1) * DAYS_A_MONTH)
  const window = Math.floor(days * 0.1)
  if (safetyCheck) return `Up to ${window} days earlier; a safety check has no late side.`
  return `Window ± ${window} days, hard limit about ${Math.floor(days * 1.25)} days after the last time.`
}

export const saySkill = (skill: Task['skill']): string =>
  skill === 'instructed' ? 'an instructed person' : skill === 'electrical' ? 'a qualified electrical person' : 'a technician'

export function draftOf({ planTaskId: _plan, serviceTaskId: _task, position: _position, ...task }: Task): DraftTask {
  return task
}

/** A key for something new, from its name; other than those there are. */
export function keyFrom(name: string, taken: readonly string[]): string {
  const plain = name
    .toLowerCase()
    .normalize('NFD')
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^[^a-z]+|_+$/g, '')
    .slice(0, 50)
  const base = plain.length < 2 ? 'task' : plain
  for (let number = 1; ; number += 1) {
    const key = number === 1 ? base : `${base}_${number}`
    if (!taken.includes(key)) return key
  }
}
