/** The stretches of a rule's frequency, each with the moments in it that the rule allows. */
import type { Day } from '../../model.js'
import { civilFromDay, dayFromCivil, isoWeekday } from '../day.js'
import { type DayFilter, dayFilter } from './day-filter.js'
import type { RecurrenceRule } from './rule.js'
import type { LocalMoment } from './stamp.js'

/** Four digits hold a year; nothing is looked for later. */
const LAST_DAY = dayFromCivil(9999, 12, 31)
const SECONDS = { HOURLY: 3600, MINUTELY: 60, SECONDLY: 1 } as const

/** First and last day of each year, month, week or day that the interval reaches. */
function* spans({ frequency, interval, weekStart }: RecurrenceRule, start: Day): Generator<[Day, Day]> {
  const { year, month } = civilFromDay(start)
  for (let step = 0; ; step += interval) {
    const months = year * 12 + month - 1 + step
    const first =
      frequency === 'YEARLY'
        ? dayFromCivil(year + step, 1, 1)
        : frequency === 'MONTHLY'
          ? dayFromCivil(Math.floor(months / 12), (months % 12) + 1, 1)
          : frequency === 'WEEKLY'
            ? start - ((isoWeekday(start) - weekStart + 7) % 7) + step * 7
            : start + step
    if (first > LAST_DAY) return
    const last =
      frequency === 'YEARLY'
        ? dayFromCivil(year + step + 1, 1, 1) - 1
        : frequency === 'MONTHLY'
          ? dayFromCivil(Math.floor((months + 1) / 12), ((months + 1) % 12) + 1, 1) - 1
          : frequency === 'WEEKLY'
            ? first + 6
            : first
    yield [first, Math.min(last, LAST_DAY)]
  }
}

function timesOf({ byHour, byMinute, bySecond }: RecurrenceRule, second: number): number[] {
  const hours = byHour.length > 0 ? byHour : [Math.floor(second / 3600)]
  const minutes = byMinute.length > 0 ? byMinute : [Math.floor(second / 60) % 60]
  const seconds = bySecond.length > 0 ? bySecond : [second % 60]
  return hours.flatMap((hour) => minutes.flatMap((minute) => seconds.map((each) => hour * 3600 + minute * 60 + each)))
}

/** Moments of one span, ascending. */
function* daily(rule: RecurrenceRule, start: LocalMoment, allowed: DayFilter): Generator<LocalMoment[]> {
  const times = timesOf(rule, start.second)
  for (const [first, last] of spans(rule, start.day)) {
    const moments: LocalMoment[] = []
    for (let day = first; day <= last; day++) if (allowed(day)) for (const second of times) moments.push({ day, second })
    yield moments
  }
}

const listed = (list: readonly number[], value: number): boolean => list.length === 0 || list.includes(value)

/** Seconds of a day within one hour, minute or second that begins at `slot`. */
function withinSlot(rule: RecurrenceRule, slot: number, startSecond: number): number[] {
  const { frequency, byHour, byMinute, bySecond } = rule
  if (!listed(byHour, Math.floor(slot / 3600))) return []
  if (frequency !== 'HOURLY' && !listed(byMinute, Math.floor(slot / 60) % 60)) return []
  if (frequency === 'SECONDLY') return listed(bySecond, slot % 60) ? [slot] : []
  const seconds = bySecond.length > 0 ? bySecond : [startSecond % 60]
  const minutes = frequency === 'MINUTELY' ? [0] : byMinute.length > 0 ? byMinute : [Math.floor(startSecond / 60) % 60]
  return minutes.flatMap((minute) => seconds.map((second) => slot + minute * 60 + second))
}

/** Hours, minutes and seconds are counted on the clock's face, so every day has 24 hours. */
function* clockwise(rule: RecurrenceRule, start: LocalMoment, allowed: DayFilter): Generator<LocalMoment[]> {
  const unit = SECONDS[rule.frequency as keyof typeof SECONDS]
  const stride = rule.interval * unit
  const origin = start.second - (start.second % unit)
  for (let day = start.day; day <= LAST_DAY; day++) {
    if (!allowed(day)) {
      yield []
      continue
    }
    const since = (day - start.day) * 86_400 - origin
    const first = since <= 0 ? -since : (stride - (since % stride)) % stride
    for (let slot = first; slot < 86_400; slot += stride) yield withinSlot(rule, slot, start.second).map((second) => ({ day, second }))
  }
}

/** All periods from that of the start on, some of them empty; moments before the start are among the first ones. */
export function periods(rule: RecurrenceRule, start: LocalMoment): Generator<LocalMoment[]> {
  const allowed = dayFilter(rule, start.day)
  return rule.frequency in SECONDS ? clockwise(rule, start, allowed) : daily(rule, start, allowed)
}
