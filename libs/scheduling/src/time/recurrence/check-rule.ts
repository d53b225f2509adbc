/** Parts that RFC 5545, 3.3.10, forbids together. */
import { InvalidInput } from '@tapewarden/reliability'
import type { RecurrenceRule } from './rule.js'

export function checkRule(rule: RecurrenceRule): void {
  const { frequency } = rule
  const refuse = (what: string): never => {
    throw new InvalidInput('rule', what)
  }
  if (rule.count !== null && rule.until !== null) refuse('must not have both COUNT and UNTIL')
  if (rule.byWeekNumber.length > 0 && frequency !== 'YEARLY') refuse('may have BYWEEKNO with FREQ=YEARLY only')
  if (rule.byYearDay.length > 0 && ['MONTHLY', 'WEEKLY', 'DAILY'].includes(frequency))
    refuse(`must not have BYYEARDAY with FREQ=${frequency}`)
  if (rule.byMonthDay.length > 0 && frequency === 'WEEKLY') refuse('must not have BYMONTHDAY with FREQ=WEEKLY')
  if (rule.byDay.some(({ ordinal }) => ordinal !== null)) {
    if (frequency !== 'YEARLY' && frequency !== 'MONTHLY') refuse('may have numbers in BYDAY with FREQ=YEARLY or MONTHLY only')
    if (rule.byWeekNumber.length > 0) refuse('must not have numbers in BYDAY together with BYWEEKNO')
  }
  const others = [rule.byMonth, rule.byWeekNumber, rule.byYearDay, rule.byMonthDay, rule.byDay, rule.byHour, rule.byMinute, rule.bySecond]
  if (rule.bySetPosition.length > 0 && others.every((list) => list.length === 0)) refuse('must have another BY part beside BYSETPOS')
}
