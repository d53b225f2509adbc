/**
 * From evidence to the daily ledger. A pure function of all evidence: correcting one piece and calling it again
 * recomputes everything that follows from it. A counter interval scales the daily evidence inside it; elsewhere the
 * first kind in the order strips, cartons, rolls, tap wins.
 */
import type { Day, UsageInterval } from '../model.js'
import { type CounterInterval, counterIntervals } from './counters.js'
import { KIND_ERROR, type StripsOver } from './daily.js'
import type { LedgerDay, LedgerInput, LedgerResult, MachineForLedger, MachineLedger, RawEvidence, SetAside } from './input.js'
import { inServiceShare } from './presence.js'
import { type Sorted, sortEvidence } from './sort-evidence.js'
import { makeShiftTable, shareBefore, shareInside, type ShiftTable, weightOfDay } from './shift-minutes.js'

const ORDER = ['strips', 'cartons', 'rolls', 'tap'] as const
/** Disagreement is told when the last so many days of two kinds differ by more than a quarter. */
const COMPARED_DAYS = 60
const TOLD_DISAGREEMENT = 0.25

interface DayUse {
  strips: number
  kind: UsageInterval['kind']
}

/** Evidence over several days, spread by shift minutes, peaks and service; nothing on closed days. */
function spread(shifts: ShiftTable, machine: MachineForLedger, { from, to, strips, kind }: StripsOver, onto: Map<Day, DayUse>): void {
  if (from === to) {
    if (!onto.has(from)) onto.set(from, { strips, kind })
    return
  }
  const weights: [Day, number][] = []
  let total = 0
  for (let day = from; day <= to; day++) {
    const weight = weightOfDay(shifts, day) * inServiceShare(shifts, machine, day)
    if (weight > 0) weights.push([day, weight])
    total += weight
  }
  for (const [day, weight] of weights) if (!onto.has(day)) onto.set(day, { strips: (strips * weight) / total, kind })
}

/** A counter interval's strips over its days: by the shape of daily evidence where there is some, else by shift minutes. */
function scaleInto(
  shifts: ShiftTable,
  machine: MachineForLedger,
  interval: CounterInterval,
  daily: ReadonlyMap<Day, DayUse>,
  onto: Map<Day, DayUse>,
): { raw: number } {
  const days: { day: Day; weight: number; share: number; raw: number | null }[] = []
  let rawSum = 0
  let rawWeight = 0
  for (let day = interval.from.day; day <= interval.to.day; day++) {
    const share = interval.from.day === interval.to.day ? 1 : shareInside(shifts, day, interval.from, interval.to)
    const use = daily.get(day)
    const raw = use && (use.kind === 'strips' || use.kind === 'cartons') ? use.strips * share : null
    const weight = weightOfDay(shifts, day) * share * inServiceShare(shifts, machine, day)
    if (raw !== null) [rawSum, rawWeight] = [rawSum + raw, rawWeight + weight]
    days.push({ day, weight, share, raw })
  }
  const perWeight = rawSum > 0 && rawWeight > 0 ? rawSum / rawWeight : 1
  const shape = days.map(({ raw, weight }) => raw ?? weight * perWeight)
  let total = shape.reduce((a, b) => a + b, 0)
  // Strips without a single open minute between the readings: they belong to the day of the second reading.
  if (total <= 0 && interval.strips > 0) [shape[shape.length - 1], total] = [1, 1]
  for (const [index, { day }] of days.entries()) {
    const strips = total > 0 ? (interval.strips * (shape[index] as number)) / total : 0
    if (strips === 0 && (days[index]?.weight ?? 0) === 0) continue
    const before = onto.get(day)
    onto.set(day, { strips: strips + (before?.kind === 'counter' ? before.strips : 0), kind: 'counter' })
  }
  return { raw: rawSum }
}

/** Whole days that a counter interval stands for: a day belongs to the side on which more of its shift lies. */
function wholeDays(shifts: ShiftTable, { from, to }: CounterInterval): { from: Day; to: Day } {
  const first = shareBefore(shifts, from) < 0.5 ? from.day : from.day + 1
  const last = shareBefore(shifts, to) < 0.5 ? to.day - 1 : to.day
  return { from: Math.min(first, to.day), to: Math.max(last, Math.min(first, to.day)) }
}

const byKindAndDay = (a: StripsOver, b: StripsOver): number => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) || a.from - b.from

/** Best kind first, oldest first. What one machine did on one day at two stations, told by cartons, is one day's use. */
function arrange(pieces: StripsOver[]): StripsOver[] {
  const out: StripsOver[] = []
  for (const piece of pieces.sort(byKindAndDay)) {
    const last = out.at(-1)
    const sameDay =
      last?.kind === 'cartons' && piece.kind === 'cartons' && piece.from === piece.to && last.from === piece.from && last.to === piece.to
    if (sameDay) out[out.length - 1] = { ...last, strips: last.strips + piece.strips }
    else out.push(piece)
  }
  return out
}

/** Strips or cartons a day and nothing else, as most machines have it: no day is told twice, and nothing has to be spread. */
function isPlain(pieces: readonly StripsOver[], counters: readonly RawEvidence[]): boolean {
  const kind = pieces[0]?.kind
  return (
    counters.length === 0 &&
    (kind === 'strips' || kind === 'cartons') &&
    pieces.every((piece) => piece.kind === kind && piece.from === piece.to)
  )
}

function plainLedger(machine: MachineForLedger, pieces: readonly StripsOver[]): MachineLedger {
  let stripsTotal = 0
  return {
    machineId: machine.machineId,
    days: pieces.map(({ from, strips, kind }) => ledgerDay(machine, from, strips, kind, (stripsTotal += strips))),
    intervals: pieces.map(({ from, to, strips, kind }) => ({ from, to, strips, kind, relativeError: KIND_ERROR[kind] })),
    disagreements: [],
  }
}

function buildOne(input: LedgerInput, shifts: ShiftTable, machine: MachineForLedger, sorted: Sorted): MachineLedger {
  const pieces = arrange(sorted.daily.get(machine.machineId) ?? [])
  const counters = sorted.counters.get(machine.machineId) ?? []
  return isPlain(pieces, counters)
    ? plainLedger(machine, pieces)
    : mixedLedger(input, shifts, machine, { pieces, counters, setAside: sorted.setAside })
}

function mixedLedger(
  input: LedgerInput,
  shifts: ShiftTable,
  machine: MachineForLedger,
  { pieces, counters, setAside }: { pieces: readonly StripsOver[]; counters: RawEvidence[]; setAside: SetAside[] },
): MachineLedger {
  const daily = new Map<Day, DayUse>()
  for (const piece of pieces) spread(shifts, machine, piece, daily)
  const counted = counterIntervals(shifts, machine, counters, setAside)
  const days = new Map<Day, DayUse>()
  const covered: { from: Day; to: Day }[] = []
  const intervals: UsageInterval[] = []
  let [countedStrips, rawStrips] = [0, 0]
  for (const interval of counted) {
    const { raw } = scaleInto(shifts, machine, interval, daily, days)
    const whole = wholeDays(shifts, interval)
    covered.push(whole)
    intervals.push({ ...whole, strips: interval.strips, kind: 'counter', relativeError: 0 })
    if (raw > 0 && interval.to.day >= input.today - COMPARED_DAYS)
      [countedStrips, rawStrips] = [countedStrips + interval.strips, rawStrips + raw]
  }
  for (const [day, use] of daily) if (!days.has(day)) days.set(day, use)
  const isCovered = (from: Day, to: Day): boolean => covered.some((range) => from >= range.from && to <= range.to)
  const usedDays = new Set<Day>()
  for (const { from, to, strips, kind } of pieces) {
    if (isCovered(from, to) || (from === to && usedDays.has(from))) continue
    if (from === to) usedDays.add(from)
    intervals.push({ from, to, strips, kind, relativeError: KIND_ERROR[kind] })
  }
  const ratio = rawStrips > 0 ? countedStrips / rawStrips : 1
  const disagrees = Math.abs(Math.log(ratio || 1)) > Math.log(1 + TOLD_DISAGREEMENT)
  return {
    machineId: machine.machineId,
    days: ledgerDays(machine, days),
    intervals: withoutOverlaps(intervals),
    disagreements: disagrees ? [{ kinds: ['counter', pieces.find(({ kind }) => kind === 'strips') ? 'strips' : 'cartons'], ratio }] : [],
  }
}

/** Oldest first; a wide interval that lies over days known better counts only where nothing better is known, so it is left out. */
function withoutOverlaps(intervals: readonly UsageInterval[]): UsageInterval[] {
  const sorted = [...intervals].sort((a, b) => a.from - b.from || a.to - b.to)
  const fine = sorted.filter(({ kind }) => kind !== 'rolls' && kind !== 'tap')
  const rolls = sorted.filter(({ kind }) => kind === 'rolls')
  const overlaps = (one: UsageInterval, others: readonly UsageInterval[]): boolean =>
    others.some(({ from, to }) => from <= one.to && to >= one.from)
  return sorted.filter((one) =>
    one.kind === 'rolls' ? !overlaps(one, fine) : one.kind === 'tap' ? !overlaps(one, fine) && !overlaps(one, rolls) : true,
  )
}

function ledgerDay(machine: MachineForLedger, day: Day, strips: number, kind: UsageInterval['kind'], stripsTotal: number): LedgerDay {
  const metres = (strips * machine.meanStripMm) / 1000
  const motorMinutes =
    machine.feedSpeedMPerMin === null ? 0 : metres / machine.feedSpeedMPerMin + (strips * machine.startUpSecondsPerStrip) / 60
  return { day, strips, metres, motorMinutes, stripsTotal, kind, relativeError: KIND_ERROR[kind] }
}

function ledgerDays(machine: MachineForLedger, days: ReadonlyMap<Day, DayUse>): LedgerDay[] {
  let stripsTotal = 0
  return [...days]
    .sort(([a], [b]) => a - b)
    .map(([day, { strips, kind }]) => ledgerDay(machine, day, strips, kind, (stripsTotal += strips)))
}

export function buildLedgers(input: LedgerInput): LedgerResult {
  let first = input.today
  for (const { from } of input.evidence) first = Math.min(first, from)
  for (const { placements } of input.machines) for (const { from } of placements) first = Math.min(first, from.day)
  const shifts = makeShiftTable(input.calendar, Math.max(first - 1, input.today - 20 * 366), input.today + 32)
  const sorted = sortEvidence(input, shifts)
  const machines = input.machines.map((machine) => buildOne(input, shifts, machine, sorted))
  return { machines, setAside: sorted.setAside }
}
