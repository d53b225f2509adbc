/** What a changed plan does to one task, in sentences (rule 19). Pure: the numbers stand in the triggers. */
import type { Trigger } from '@tapewarden/shared'
import { plural, sayNumber, UNITS } from './say.js'

export interface PlanChangeOfTask {
  /** null: the task is new in the plan. */
  before: readonly Trigger[] | null
  /** null: the task is no longer in the plan. */
  after: readonly Trigger[] | null
  safetyCheck: boolean
}

type Calendar = Extract<Trigger, { kind: 'calendar' }>
type Usage = Extract<Trigger, { kind: 'usage' }>

const calendarOf = (triggers: readonly Trigger[]) => triggers.find((one): one is Calendar => one.kind === 'calendar')
const usagesOf = (triggers: readonly Trigger[]) => triggers.filter((one): one is Usage => one.kind === 'usage')
const sayInterval = (trigger: Calendar): string =>
  trigger.months === undefined ? plural(trigger.days ?? 1, 'day', 'days') : plural(trigger.months, 'month', 'months')

function calendarSentence(before: Calendar, after: Calendar, safetyCheck: boolean): string | null {
  if (before.months === after.months && before.days === after.days) return null
  const change = `From ${sayInterval(before)} to ${sayInterval(after)}.`
  if (before.months === undefined || after.months === undefined)
    return `${change} The time since it was last done counts in full towards the new interval.`
  if (after.months > before.months) return `${change} Longer: the date that stands stays; the new interval holds from the next time on.`
  const spread = safetyCheck ? 'in the first week' : 'spread over four weeks'
  return `${change} Shorter: holds at once, the time since it was last done counts in full; what is past by this is ${spread}, and late only after its day there.`
}

function usageSentence(before: readonly Usage[], after: readonly Usage[]): string | null {
  for (const now of after) {
    const then = before.find(({ unit }) => unit === now.unit)
    if (then && then.amount !== now.amount)
      return `From ${sayNumber(then.amount)} to ${sayNumber(now.amount)} ${UNITS[now.unit]}. What was used since it was last done counts in full.`
  }
  return null
}

/** @returns one sentence for each change of its triggers; none where nothing of its dates changed */
export function sayPlanChange({ before, after, safetyCheck }: PlanChangeOfTask): string[] {
  if (after === null) return before === null ? [] : ['No longer asked for. What is open of it ends; what was done stays in the books.']
  if (before === null) return ['New in the plan: a first look is spread over one interval; nothing is late before it.']
  const said: string[] = []
  const [calendarThen, calendarNow] = [calendarOf(before), calendarOf(after)]
  const calendar = calendarThen && calendarNow ? calendarSentence(calendarThen, calendarNow, safetyCheck) : null
  if (calendar) said.push(calendar)
  const usage = usageSentence(usagesOf(before), usagesOf(after))
  if (usage) said.push(usage)
  const kinds = (triggers: readonly Trigger[]) => new Set(triggers.map((one) => (one.kind === 'usage' ? `usage ${one.unit}` : one.kind)))
  const [then, now] = [kinds(before), kinds(after)]
  if ([...now].some((kind) => !then.has(kind))) said.push('It can fall due by something new; the earliest governs.')
  if ([...then].some((kind) => !now.has(kind))) said.push('It no longer falls due by everything that it did.')
  return said
}
