/** Numbers, dates and lengths as people read them. Pure; the language is an argument. */
const MM_PER_INCH = 25.4

/** '12 May', with the year where it is another than that of `today`. */
export function sayDay(date: string | null, today: string, language = 'en-GB'): string {
  if (date === null) return 'no date'
  const sameYear = date.slice(0, 4) === today.slice(0, 4)
  return new Intl.DateTimeFormat(language, {
    timeZone: 'UTC',
    day: 'numeric',
    month: 'short',
    ...(sameYear ? {} : { year: 'numeric' }),
  }).format(new Date(`${date}T00:00:00Z`))
}

export function sayInstant(instant: string | null, zone: string, language = 'en-GB'): string {
  if (instant === null) return 'not known'
  return new Intl.DateTimeFormat(language, {
    timeZone: zone,
    day: 'numeric',
    month: 'short',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  }).format(new Date(instant))
}

export const sayNumber = (value: number, digits = 0, language = 'en-GB'): string =>
  new Intl.NumberFormat(language, { maximumFractionDigits: digits, minimumFractionDigits: digits }).format(value)

export const sayCount = (count: number, one: string, many: string): string => `${sayNumber(count)} ${count === 1 ? one : many}`

export function sayMoney(value: number, currency: string, language = 'en-GB'): string {
  return new Intl.NumberFormat(language, { style: 'currency', currency, maximumFractionDigits: 0 }).format(value)
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

/** Exact: 1 in = 25.4 mm. The number sent keeps what was typed. */
export const toMm = (value: number, unit: 'mm' | 'in'): number => (unit === 'mm' ? value : value * MM_PER_INCH)

export function sayLength(mm: number, units: 'si' | 'us'): string {
  return units === 'si' ? `${sayNumber(mm, 1)} mm` : `${sayNumber(mm / MM_PER_INCH, 2)} in`
}

/** Reads '12.3' and '12,3'; null for what is no length. */
export function readLength(text: string): number | null {
  const value = Number(text.trim().replace(',', '.'))
  return text.trim() === '' || !Number.isFinite(value) || value < 0 ? null : value
}

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
