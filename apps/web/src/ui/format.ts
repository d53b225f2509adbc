/** Numbers, dates and lengths as people read them. Pure; the language is an argument. */
import { lengthInMm } from './lengths.js'

/** One way of short months and of thousands on all pages and in the sentences why: '8 Sep', '6 017'. */
export const evenMonths = (text: string): string => text.replace(/\bSept\b/, 'Sep')
const evenThousands = (text: string): string => text.replaceAll(',', '\u00a0')

/** '12 May', with the year where it is another than that of `today`. */
export function sayDay(date: string | null, today: string, language = 'en-GB'): string {
  if (date === null) return 'no date'
  const sameYear = date.slice(0, 4) === today.slice(0, 4)
  const form = new Intl.DateTimeFormat(language, {
    timeZone: 'UTC',
    day: 'numeric',
    month: 'short',
    ...(sameYear ? {} : { year: 'numeric' }),
  })
  return evenMonths(form.format(new Date(`${date}T00:00:00Z`)))
}

/** With the year where it is another than that of now. */
export function sayInstant(instant: string | null, zone: string, language = 'en-GB', now = new Date()): string {
  if (instant === null) return 'not known'
  const yearOf = (at: Date): string => new Intl.DateTimeFormat('en', { timeZone: zone, year: 'numeric' }).format(at)
  const sameYear = yearOf(new Date(instant)) === yearOf(now)
  const form = new Intl.DateTimeFormat(language, {
    timeZone: zone,
    day: 'numeric',
    month: 'short',
    ...(sameYear ? {} : { year: 'numeric' }),
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  })
  return evenMonths(form.format(new Date(instant)))
}

export const sayNumber = (value: number, digits = 0): string =>
  evenThousands(new Intl.NumberFormat('en-GB', { maximumFractionDigits: digits, minimumFractionDigits: digits }).format(value))

/** As many digits as it has, at most `digits` after the point. */
export const sayTick = (value: number, digits = 1): string =>
  evenThousands(new Intl.NumberFormat('en-GB', { maximumFractionDigits: digits }).format(value))

export const sayCount = (count: number, one: string, many: string): string => `${sayNumber(count)} ${count === 1 ? one : many}`

/** 'A, B and C'. */
export const sayList = (words: readonly string[], joined: 'and' | 'or' = 'and'): string =>
  new Intl.ListFormat('en-GB', { type: joined === 'or' ? 'disjunction' : 'conjunction' }).format(words)

export function sayMoney(value: number, currency: string): string {
  return evenThousands(new Intl.NumberFormat('en-GB', { style: 'currency', currency, maximumFractionDigits: 0 }).format(value))
}

/** 'Mon–Fri 06:00–14:00 and 14:00–22:00, Sat 07:00–12:00': days of the same hours side by side. Weekdays 1 (Monday) to 7. */
export function sayWeek(shifts: readonly { weekday: number; starts: string; ends: string }[]): string {
  const runs: { from: number; to: number; hours: string }[] = []
  for (let weekday = 1; weekday <= 7; weekday++) {
    const own = shifts.filter((shift) => shift.weekday === weekday).sort((a, b) => a.starts.localeCompare(b.starts))
    const hours = own.map(({ starts, ends }) => `${starts.slice(0, 5)}–${ends.slice(0, 5)}`).join(' and ')
    const last = runs.at(-1)
    if (hours === '') continue
    if (last && last.to === weekday - 1 && last.hours === hours) last.to = weekday
    else runs.push({ from: weekday, to: weekday, hours })
  }
  const name = (weekday: number): string => DAYS[weekday] ?? ''
  return runs.map(({ from, to, hours }) => `${name(from)}${from === to ? '' : `–${name(to)}`} ${hours}`).join(', ')
}

const DAYS = ['', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun']

/** What a peak bars, as a clause. */
export const sayBars = (bars: string): string => BARS[bars] ?? sayWord(bars)
const BARS: Readonly<Record<string, string>> = {
  no_visits: 'no visits and no technicians’ work',
  short_care_only: 'short care only, up to 15 minutes',
  nothing: 'all work goes on',
}

/** The range in words: 'likely 12 May, between 3 and 26 May'. */
export function sayRange(
  { earlyOn, likelyOn, lateOn }: { earlyOn: string | null; likelyOn: string | null; lateOn: string | null },
  today: string,
): string {
  if (likelyOn === null) return 'no date'
  if (earlyOn === likelyOn && lateOn === likelyOn) return sayDay(likelyOn, today)
  return `likely ${sayDay(likelyOn, today)}, between ${earlyOn === null ? 'now' : sayDay(earlyOn, today)} and ${lateOn === null ? 'further than five years' : sayDay(lateOn, today)}`
}

/** Three decimals of an inch tell 1/64 apart. */
export function sayLength(mm: number, units: 'si' | 'us'): string {
  return units === 'si' ? `${sayNumber(mm, 1)} mm` : `${sayNumber(mm / lengthInMm(1, 'in'), 3)} in`
}

/** A measured value or its limit: a length, or a count, which has no unit. */
export const sayMeasured = (value: number, unit: 'mm' | 'count', units: 'si' | 'us'): string =>
  unit === 'count' ? sayTick(value) : sayLength(value, units)

const WORDS: Readonly<Record<string, string>> = {
  in_service: 'in service',
  on_the_shelf: 'on the shelf',
  at_the_bench: 'at the bench',
  away_for_repair: 'away for repair',
  tagged_out: 'tagged out',
  not_found: 'not found',
  under_way: 'under way',
  looked_over: 'looked over',
  second_person: 'second person',
}
export const sayWord = (word: string): string => WORDS[word] ?? word.replaceAll('_', ' ')
