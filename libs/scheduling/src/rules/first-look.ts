/** Rule 18: what is not known about the past gets a first look, spread so that nothing piles up and nothing is 'late'. */
import { type Care, type DayTable, isOpenDay, openDayAfter, openDayBefore } from '../calendar/day-table.js'
import type { Day } from '../model.js'
import { isoWeekday } from '../time/day.js'

/** Longest time over which first looks are spread, days (26 weeks). */
export const SPREAD_DAYS = 182
/** Small outside care of a machine new to us: within four weeks. */
export const SMALL_CARE_WITHIN_DAYS = 28

/** Even and stable spread of names over [0, 1). Source: FNV-1a, 32 bit (Fowler, Noll, Vo), with the finaliser of MurmurHash3. */
export function fractionOf(name: string): number {
  let hash = 0x811c9dc5
  for (let index = 0; index < name.length; index++) hash = Math.imul(hash ^ name.charCodeAt(index), 0x01000193)
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b)
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35)
  return ((hash ^ (hash >>> 16)) >>> 0) / 4294967296
}

/** The Friday, or last working day, of the first whole week after registration: the safety look is due in that week. */
export function safetyLookDueOn(table: DayTable, registeredOn: Day): Day {
  const monday = registeredOn + ((8 - isoWeekday(registeredOn)) % 7)
  return openDayBefore(table, monday + 6, 'round', monday) ?? openDayAfter(table, monday, 'round', monday + 60) ?? monday + 4
}

/** Small outside care: in one of the four weeks after registration, a line at a time. */
export function smallCareDueOn(table: DayTable, registeredOn: Day, line: string, care: Care = 'round'): Day {
  const week = 1 + Math.floor(4 * fractionOf(`line ${line}`))
  const last = registeredOn + 7 * week
  return openDayBefore(table, last, care, registeredOn) ?? openDayAfter(table, last, care, last + 60) ?? last
}

function openDaysIn(table: DayTable, from: Day, to: Day, care: Care): Day[] {
  const days: Day[] = []
  for (let day = Math.max(from, table.from); day <= Math.min(to, table.to); day++) if (isOpenDay(table, day, care)) days.push(day)
  return days
}

/** Open days over which first looks with this interval are spread, where `from` is the day on which the spread was asked for. */
export function spreadDays(table: DayTable, from: Day, intervalDays: number, care: Care): Day[] {
  return openDaysIn(table, from + 7, from + 7 + Math.min(intervalDays, SPREAD_DAYS), care)
}

/** So many times as many open days, from the same first day on. */
function stretched(table: DayTable, days: readonly Day[], stretch: number, care: Care): readonly Day[] {
  const [first, wanted] = [days[0], Math.ceil(days.length * stretch)]
  if (stretch <= 1 || first === undefined) return days
  const last = days[days.length - 1] as Day
  return [...days, ...openDaysIn(table, last + 1, table.to, care)].slice(0, wanted)
}

export interface SpreadAsked {
  /** The spread begins a week after this day. */
  from: Day
  today: Day
  /** One interval of the task, days; at most 26 weeks of it are used. */
  intervalDays: number
  /** At least 1: so many times as many open days, so that the looks fit into the hours there are. */
  stretch: number
  /** Of machine and task. */
  name: string
  care: Care
  /** Day of the look where it is open already; it stays. */
  alreadyOpen: Day | null
}

/**
 * Other first looks: evenly over the open days of one interval. A look whose day has passed without being asked for
 * (the machine was elsewhere, the task is new) takes its turn within the next four weeks, always on the same turn, so
 * that it does not move along with today.
 */
export function spreadLookDueOn(table: DayTable, { from, today, intervalDays, stretch, name, care, alreadyOpen }: SpreadAsked): Day {
  if (alreadyOpen !== null) return alreadyOpen
  const share = fractionOf(name)
  const first = from + 7
  const days = stretched(table, spreadDays(table, from, intervalDays, care), stretch, care)
  const chosen = days[Math.floor(share * days.length)] ?? openDayAfter(table, first, care, first + 2 * SPREAD_DAYS) ?? first
  if (chosen >= today) return chosen
  const turn = Math.floor(share * SMALL_CARE_WITHIN_DAYS)
  const wait = (((turn - today) % SMALL_CARE_WITHIN_DAYS) + SMALL_CARE_WITHIN_DAYS) % SMALL_CARE_WITHIN_DAYS
  return openDayAfter(table, today + wait, care, today + wait + 2 * SPREAD_DAYS) ?? today + wait
}
