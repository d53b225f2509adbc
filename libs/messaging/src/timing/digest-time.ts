import { dayOf, instantToLocalDate, isoWeekday } from '@tapewarden/scheduling'
import { dayAfter, type Span, type WarehouseHours, wallInstant, workingSpan } from './working-hours.js'

/** When a person wants the digest, in the hours and the zone of whichever warehouse it is about. */
export interface DigestWishes {
  /** ISO weekday of the week's one digest; null: every working day. */
  digestWeekday: number | null
  /** 'HH:mm', not before it; null or outside the working hours: as they begin. */
  digestTime: string | null
  /** 'HH:mm' to 'HH:mm', over midnight where the second is not later; both null: none. */
  quietFrom: string | null
  quietTo: string | null
}

function quietSpans(zone: string, day: string, { quietFrom, quietTo }: DigestWishes): Span[] {
  if (quietFrom === null || quietTo === null || quietFrom.slice(0, 5) === quietTo.slice(0, 5)) return []
  const overnight = quietTo.slice(0, 5) < quietFrom.slice(0, 5)
  return [dayAfter(day, -1), day].map((begin) => ({
    from: wallInstant(zone, begin, quietFrom),
    to: wallInstant(zone, overnight ? dayAfter(begin) : begin, quietTo),
  }))
}

/** What is left of some spans without another; in order, none of them empty. */
function without(spans: readonly Span[], barred: Span): Span[] {
  return spans
    .flatMap(({ from, to }) => [
      { from, to: Math.min(to, barred.from) },
      { from: Math.max(from, barred.to), to },
    ])
    .filter(({ from, to }) => from < to)
}

/**
 * The spans of a local day in which a person's digest may go: working hours from the asked time on, less the quiet ones.
 * Where quiet hours leave nothing after the asked time, what they leave before it; where they leave nothing at all,
 * the working hours hold: no preference makes a reminder fall away. Empty on a day without working hours.
 */
export function digestSpans(hours: WarehouseHours, wishes: DigestWishes, day: string): Span[] {
  const work = workingSpan(hours, day)
  if (!work) return []
  const loud = quietSpans(hours.zone, day, wishes).reduce<Span[]>(without, [work])
  if (loud.length === 0) return [work]
  const asked = wishes.digestTime === null ? work.from : wallInstant(hours.zone, day, wishes.digestTime)
  if (asked <= work.from || asked >= work.to) return loud
  const after = without(loud, { from: work.from, to: asked })
  return after.length > 0 ? after : loud
}

/** The first working day from the chosen weekday on, looked for up to that day itself. */
function digestDayBefore(hours: WarehouseHours, weekday: number, day: string): string {
  let at = dayAfter(day, -((isoWeekday(dayOf(day)) - weekday + 7) % 7))
  while (at < day && !workingSpan(hours, at)) at = dayAfter(at)
  return at
}

export interface Waiting {
  /** Local day from which it is to be said. */
  sayOn: string
  /** Local day of the last digest made for this person and warehouse. */
  lastDigestDay: string | null
}

/**
 * A weekly digest goes on the first working day from the chosen weekday on. What was to be said by then and was not,
 * because nothing went that day, goes on a later one.
 */
export function isDigestDay(hours: WarehouseHours, wishes: DigestWishes, day: string, { sayOn, lastDigestDay }: Waiting): boolean {
  if (wishes.digestWeekday === null) return true
  const chosen = digestDayBefore(hours, wishes.digestWeekday, day)
  return chosen === day || (sayOn <= chosen && (lastDigestDay === null || lastDigestDay < chosen))
}

/** Since when, today, something may go in this person's digest; null where it may not now. */
export function digestOpenSince(hours: WarehouseHours, wishes: DigestWishes, now: Date, waiting: Waiting): Date | null {
  const today = instantToLocalDate(hours.zone, now.getTime())
  if (!isDigestDay(hours, wishes, today, waiting)) return null
  const span = digestSpans(hours, wishes, today).find(({ from, to }) => from <= now.getTime() && now.getTime() < to)
  return span ? new Date(span.from) : null
}

const LOOKS_DAYS_AHEAD = 400

/**
 * When something can go in a digest at the earliest: no second one on a day that had one.
 * null where no working day comes within 400 days.
 */
export function nextDigestAt(hours: WarehouseHours, wishes: DigestWishes, now: Date, { sayOn, lastDigestDay }: Waiting): Date | null {
  const today = instantToLocalDate(hours.zone, now.getTime())
  let day = sayOn > today ? sayOn : today
  if (lastDigestDay === day) day = dayAfter(day)
  for (let ahead = 0; ahead < LOOKS_DAYS_AHEAD; ahead++, day = dayAfter(day)) {
    const span = digestSpans(hours, wishes, day).find(({ to }) => to > now.getTime())
    if (span && isDigestDay(hours, wishes, day, { sayOn, lastDigestDay })) return new Date(Math.max(span.from, now.getTime()))
  }
  return null
}
