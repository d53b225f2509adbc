/** The moments of a stoppage split into durations, after IEC 60050-192: detection, administrative, logistic, technical, active. Pure. */
import type { WarehouseCalendar } from '@tapewarden/scheduling'
import { isoWeekday, offsetMsAt } from '@tapewarden/scheduling'

/** As they are told and stored: RFC 3339. */
export interface ToldMoments {
  failedAt: string
  noticedAt: string | null
  reportedAt: string | null
  workBegunAt: string | null
  repairedAt: string | null
  checkedAt: string | null
  backInUseAt: string | null
  waits: readonly { reason: string; fromAt: string; toAt: string | null }[]
}
/** Epoch milliseconds; null: not told, or still open. */
export interface Moments {
  failed: number
  noticed: number | null
  reported: number | null
  workBegun: number | null
  repaired: number | null
  checked: number | null
  backInUse: number | null
  waits: ToldMoments['waits']
}

export function momentsOf(told: ToldMoments): Moments {
  const ms = (text: string | null): number | null => (text === null ? null : Date.parse(text))
  return {
    failed: Date.parse(told.failedAt),
    noticed: ms(told.noticedAt),
    reported: ms(told.reportedAt),
    workBegun: ms(told.workBegunAt),
    repaired: ms(told.repairedAt),
    checked: ms(told.checkedAt),
    backInUse: ms(told.backInUseAt),
    waits: told.waits,
  }
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
  const { failed, backInUse } = moments
  const end = Math.max(failed, backInUse ?? nowMs)
  const clamp = (moment: number | null, from: number, otherwise: number) =>
    moment === null ? otherwise : Math.min(Math.max(moment, from), end)
  const noticed = clamp(moments.noticed ?? moments.reported, failed, failed)
  const begun = clamp(moments.workBegun, noticed, moments.repaired === null && backInUse === null ? end : noticed)
  const finished = clamp(moments.checked ?? moments.repaired, begun, end)
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
  const { failed } = moments
  const ms: Record<SpanKind, number> = { detection: 0, administrative: 0, logistic: 0, technical: 0, active: 0 }
  let end = failed
  for (const { kind, from, to } of spansOf(moments, nowMs)) {
    ms[kind] += to - from
    end = to
  }
  return {
    totalHours: (end - failed) / HOUR_MS,
    withinShiftsHours: calendar ? hoursWithinShifts(calendar, failed, end) : null,
    detectionHours: ms.detection / HOUR_MS,
    administrativeHours: ms.administrative / HOUR_MS,
    logisticHours: ms.logistic / HOUR_MS,
    technicalHours: ms.technical / HOUR_MS,
    activeHours: ms.active / HOUR_MS,
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
  /** Since the epoch, as the clocks of the warehouse count; whole seconds. */
  const minuteOf = (ms: number): number => Math.floor((ms + offsetMsAt(calendar.zone, ms)) / 1000) / 60
  const [start, end] = [minuteOf(fromMs), minuteOf(toMs)]
  const [firstDay, lastDay] = [Math.floor(start / MINUTES_A_DAY), Math.floor(end / MINUTES_A_DAY)]
  if (lastDay - firstDay > LONGEST_DAYS) return null
  let minutes = 0
  for (let day = firstDay - 1; day <= lastDay; day++) {
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
