/** Reads a rule's text, and refuses what RFC 5545 does not allow. */
import { InvalidInput } from '@tapewarden/reliability'
import { checkRule } from './check-rule.js'
import { FREQUENCIES, type Frequency, type RecurrenceRule, type Until, WEEKDAYS, type WeekdayPart } from './rule.js'
import { readLocalStamp } from './stamp.js'

const NAMES = 'FREQ INTERVAL COUNT UNTIL BYMONTH BYWEEKNO BYYEARDAY BYMONTHDAY BYDAY BYHOUR BYMINUTE BYSECOND BYSETPOS WKST'.split(' ')

function partsOf(text: string): Map<string, string> {
  const parts = new Map<string, string>()
  for (const part of text.split(';')) {
    const [, name, value] = /^([A-Z]+)=(.+)$/.exec(part.toUpperCase()) ?? []
    if (!name || !value) throw new InvalidInput('rule', `must be parts such as FREQ=WEEKLY, divided by semicolons; '${part}' is none`)
    if (!NAMES.includes(name)) throw new InvalidInput('rule', `has a part of unknown name, ${name}`)
    if (parts.has(name)) throw new InvalidInput('rule', `has ${name} twice`)
    parts.set(name, value)
  }
  return parts
}

function readWhole(name: string, text: string, low: number, high: number): number {
  const value = /^[+-]?\d{1,9}$/.test(text) ? Number(text) : Number.NaN
  if (!(value >= low && value <= high))
    throw new InvalidInput('rule', `needs a whole number from ${low} to ${high} in ${name}; it has '${text}'`)
  return value
}

/** Numbers of one part, ascending and each once; `signed` ones count from the end when negative and are never 0. */
function readList(parts: Map<string, string>, name: string, low: number, high: number, signed = false): number[] {
  const text = parts.get(name)
  if (text === undefined) return []
  const values = text.split(',').map((each) => readWhole(name, each, signed ? -high : low, high))
  if (signed && values.includes(0)) throw new InvalidInput('rule', `must not have 0 in ${name}`)
  return [...new Set(values)].sort((a, b) => a - b)
}

/** RFC 5545, 3.3.12: where clocks have no leap second, 60 is 59. */
const bySecondOf = (seconds: readonly number[]): number[] => [...new Set(seconds.map((second) => Math.min(second, 59)))]

function readWeekday(name: string, text: string): number {
  const index = (WEEKDAYS as readonly string[]).indexOf(text)
  if (index < 0) throw new InvalidInput('rule', `needs one of ${WEEKDAYS.join(', ')} in ${name}; it has '${text}'`)
  return index + 1
}

function readDays(text: string | undefined): WeekdayPart[] {
  return (text?.split(',') ?? []).map((each) => {
    const [, ordinal, day] = /^([+-]?\d+)?([A-Z]+)$/.exec(each) ?? []
    const weekday = readWeekday('BYDAY', day ?? each)
    if (ordinal === undefined) return { weekday, ordinal: null }
    const which = readWhole('BYDAY', ordinal, -53, 53)
    if (which === 0) throw new InvalidInput('rule', 'must not have 0 in BYDAY')
    return { weekday, ordinal: which }
  })
}

/** A date alone means: to the end of that local day. */
function readUntil(text: string | undefined): Until | null {
  if (text === undefined) return null
  const local = readLocalStamp('rule', /^\d{8}$/.test(text) ? `${text}T235959` : text.replace(/Z$/, ''), 'UNTIL')
  return text.endsWith('Z') ? { instantMs: Date.parse(`${local}Z`) } : { local }
}

/**
 * @param text such as 'FREQ=MONTHLY;BYDAY=-1FR;COUNT=10'
 * @throws InvalidInput for 'rule', saying which part and why
 */
export function readRule(text: string): RecurrenceRule {
  const parts = partsOf(text.replace(/^RRULE:/i, ''))
  const frequency = parts.get('FREQ') as Frequency | undefined
  if (!frequency || !FREQUENCIES.includes(frequency)) throw new InvalidInput('rule', `needs FREQ, one of ${FREQUENCIES.join(', ')}`)
  const count = parts.get('COUNT')
  const rule: RecurrenceRule = {
    frequency,
    interval: readWhole('INTERVAL', parts.get('INTERVAL') ?? '1', 1, 1e8),
    count: count === undefined ? null : readWhole('COUNT', count, 1, 1e8),
    until: readUntil(parts.get('UNTIL')),
    byMonth: readList(parts, 'BYMONTH', 1, 12),
    byWeekNumber: readList(parts, 'BYWEEKNO', 1, 53, true),
    byYearDay: readList(parts, 'BYYEARDAY', 1, 366, true),
    byMonthDay: readList(parts, 'BYMONTHDAY', 1, 31, true),
    byDay: readDays(parts.get('BYDAY')),
    byHour: readList(parts, 'BYHOUR', 0, 23),
    byMinute: readList(parts, 'BYMINUTE', 0, 59),
    bySecond: bySecondOf(readList(parts, 'BYSECOND', 0, 60)),
    bySetPosition: readList(parts, 'BYSETPOS', 1, 366, true),
    weekStart: readWeekday('WKST', parts.get('WKST') ?? 'MO'),
  }
  checkRule(rule)
  return rule
}
