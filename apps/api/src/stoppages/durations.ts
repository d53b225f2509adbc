/** The moments of a stoppage split into durations, after IEC 60050-192: detection, administrative, logistic, technical, active. Pure. */
import type { WarehouseCalendar } from '@tapewarden/scheduling'
import { instantToLocal, isoWeekday, dayOf } from '@tapewarden/scheduling'

export interface Moments {
  failedAt: string
  noticedAt: string | null
  reportedAt: string | null
  workBegunAt: string | null
  repairedAt: string | null
  checkedAt: string | null
  backInUseAt: string | null
  waits: readonly { reason: string; fromAt: string; toAt: string | null }[]
}
export interface Durations {
  totalHours: number
  withinShiftsHours: number | null
  detectionHours: number
  administrativeHours: number
  logisticHours: number
  technicalHours: number
  activeHours: number
}

const HOUR_MS = 3_600_000
type Span = readonly [number, number]

export type SpanKind = 'detection' | 'administrative' | 'logistic' | 'technical' | 'active'
/** Epoch milliseconds. */
export interface StoppageSpan {
  kind: SpanKind
  from: number
  to: number
}

/** Waits for parts are logistic; for a decision administrative; for access, travel, a second person technical. */
const WAIT_KINDS: Readonly<Record<string, SpanKind>> = { part: 'logistic', decision: 'administrative' }

/** Without overlaps, cut to the span; the first of two that overlap keeps the time. */
function cutWaits(waits: Moments['waits'], span: Span): StoppageSpan[] {
  let from = span[0]
  return waits
    .map((wait) => ({
      kind: WAIT_KINDS[wait.reason] ?? ('technical' as const),
      from: Date.parse(wait.fromAt),
      to: wait.toAt === null ? span[1] : Date.parse(wait.toAt),
    }))
    .sort((a, b) => a.from - b.from)
    .map((wait) => {
      const cut = { kind: wait.kind, from: Math.max(wait.from, from), to: Math.min(wait.to, span[1]) }
      from = Math.max(from, cut.to)
      return cut
    })
}

/** A stretch of one kind, its waits cut out of it. */
function filled(kind: SpanKind, span: Span, waits: Moments['waits']): StoppageSpan[] {
  let from = span[0]
  const out: StoppageSpan[] = []
  for (const wait of cutWaits(waits, span)) {
    if (wait.to <= wait.from) continue
    out.push({ kind, from, to: wait.from }, wait)
    from = wait.to
  }
  return [...out, { kind, from, to: span[1] }]
}

/**
 * Splits [failed, back in use] without gap or overlap: until noticed = detection; until work begun = administrative; from then on
 * active, both less the waits by their reason; from repaired (or checked) to back in use = administrative.
 * @param nowMs where the stoppage is still open  @returns in order, none without length, no two of a kind side by side
 */
export function spansOf(moments: Moments, nowMs: number): StoppageSpan[] {
  const failed = Date.parse(moments.failedAt)
  const end = Math.max(failed, moments.backInUseAt === null ? nowMs : Date.parse(moments.backInUseAt))
  const clamp = (text: string | null, from: number, otherwise: number) =>
    text === null ? otherwise : Math.min(Math.max(Date.parse(text), from), end)
  const noticed = clamp(moments.noticedAt ?? moments.reportedAt, failed, failed)
  const begun = clamp(moments.workBegunAt, noticed, moments.repairedAt === null && moments.backInUseAt === null ? end : noticed)
  const finished = clamp(moments.checkedAt ?? moments.repairedAt, begun, end)
  const all: StoppageSpan[] = [
    { kind: 'detection', from: failed, to: noticed },
    ...filled('administrative', [noticed, begun], moments.waits),
    ...filled('active', [begun, finished], moments.waits),
    { kind: 'administrative', from: finished, to: end },
  ]
  return all
    .filter(({ from, to }) => to > from)
    .reduce<StoppageSpan[]>((out, span) => {
      const last = out.at(-1)
      return last?.kind === span.kind ? [...out.slice(0, -1), { ...last, to: span.to }] : [...out, span]
    }, [])
}

/** The hours of the spans by their kind; they sum up to the total. @param nowMs where the stoppage is still open */
export function durationsOf(moments: Moments, nowMs: number, calendar: WarehouseCalendar | null): Durations {
  const spans = spansOf(moments, nowMs)
  const failed = Date.parse(moments.failedAt)
  const end = spans.at(-1)?.to ?? failed
  const hoursOf = (asked: SpanKind): number =>
    spans.reduce((sum, { kind, from, to }) => (kind === asked ? sum + to - from : sum), 0) / HOUR_MS
  return {
    totalHours: (end - failed) / HOUR_MS,
    withinShiftsHours: calendar ? hoursWithinShifts(calendar, failed, end) : null,
    detectionHours: hoursOf('detection'),
    administrativeHours: hoursOf('administrative'),
    logisticHours: hoursOf('logistic'),
    technicalHours: hoursOf('technical'),
    activeHours: hoursOf('active'),
  }
}

const MINUTES_A_DAY = 1440
const LONGEST_DAYS = 3700

/**
 * Hours of [fromMs, toMs] that lie in shifts, closures taken out. By the warehouse's wall clock: on the two days a year on
 * which it is set, an hour may be counted too much or too little.
 */
export function hoursWithinShifts(calendar: WarehouseCalendar, fromMs: number, toMs: number): number | null {
  const shifts = calendar.shifts
  if (!shifts || shifts.length === 0) return null
  const at = (ms: number) => {
    const local = instantToLocal(calendar.zone, ms)
    return {
      day: dayOf(local.slice(0, 10)),
      minute: Number(local.slice(11, 13)) * 60 + Number(local.slice(14, 16)) + Number(local.slice(17, 19) || 0) / 60,
    }
  }
  const [from, to] = [at(fromMs), at(toMs)]
  if (to.day - from.day > LONGEST_DAYS) return null
  const start = from.day * MINUTES_A_DAY + from.minute
  const end = to.day * MINUTES_A_DAY + to.minute
  let minutes = 0
  for (let day = from.day - 1; day <= to.day; day++) {
    if (calendar.closures.some((closure) => closure.from <= day && day <= closure.to)) continue
    for (const shift of shifts) {
      if (shift.weekday !== isoWeekday(day)) continue
      const begins = day * MINUTES_A_DAY + shift.startsMinute
      const length = shift.endsMinute - shift.startsMinute
      const ends = begins + (length > 0 ? length : length + MINUTES_A_DAY)
      minutes += Math.max(0, Math.min(ends, end) - Math.max(begins, start))
    }
  }
  return minutes / 60
}
