/** Counter readings to strips between two readings: roll-over, replaced counters, and readings that cannot be true. */
import type { Day } from '../model.js'
import type { MachineForLedger, Moment, RawEvidence, SetAside } from './input.js'
import { isBefore, minutesBetween, type ShiftTable } from './shift-minutes.js'

export interface CounterInterval {
  from: Moment
  to: Moment
  strips: number
}

/** Strips a minute where a type states none (assumption, well above any machine's pace). */
const MOST_STRIPS_PER_MINUTE = 60
/** Overtime and breaks worked through (assumption). */
const OVERTIME = 1.25

/** Most strips that could be cut between two moments: pace times shift minutes, an hour of slack for work outside shifts. */
export function mostBetween(shifts: ShiftTable, machine: MachineForLedger, from: Moment, to: Moment): number {
  const pace = machine.mostStripsPerMinute ?? MOST_STRIPS_PER_MINUTE
  const days = Math.max(0, to.day - from.day)
  return pace * (minutesBetween(shifts, from, to) * OVERTIME + Math.min(60 * (days + 1), 24 * 60))
}

/** Most strips on whole days, both ends included: as mostBetween from the first midnight to the last. */
export function mostOnDays({ table, prefix }: ShiftTable, machine: MachineForLedger, from: Day, to: Day): number {
  const at = (day: Day): number => prefix[Math.max(0, Math.min(prefix.length - 1, day - table.from))] as number
  const days = to - from + 1
  return (machine.mostStripsPerMinute ?? MOST_STRIPS_PER_MINUTE) * ((at(to + 1) - at(from)) * OVERTIME + Math.min(60 * (days + 1), 24 * 60))
}

const stripsPerCount = (machine: MachineForLedger): number => (machine.counterKind === 'metres' ? 1000 / machine.meanStripMm : 1)

/** So many times the pace of a machine's busy quarter is no roll-over but a slip of the pen or an untold new counter (assumption). */
const UNLIKE_IT = 4
/** Rises that make a pace. */
const ENOUGH_RISES = 4

type Difference = { strips: number } | { code: 'RUNS_BACKWARDS' | 'MORE_THAN_IT_CAN_CUT' }

interface Value {
  at: Moment
  value: number
}
interface Reading extends Value {
  evidence: RawEvidence
}

const daysOf = (from: Moment, to: Moment): number => to.day - from.day + (to.minute - from.minute) / 1440

/** Counts a day that a quarter of the rises from reading to reading exceed, so that slips among them do not decide; null: too few rises. */
function busyPace(readings: readonly Reading[]): number | null {
  const paces = readings.flatMap((to, index) => {
    const from = readings[index - 1]
    return from && to.value >= from.value && isBefore(from.at, to.at) ? [(to.value - from.value) / daysOf(from.at, to.at)] : []
  })
  const busy = paces.sort((a, b) => a - b)[Math.floor(0.75 * (paces.length - 1))] ?? 0
  return paces.length >= ENOUGH_RISES && busy > 0 ? busy : null
}

/**
 * A fall is a roll-over only if the implied difference could be cut in the time between, and is not far more than the machine does.
 * @param pace  counts a day where it is busy; null: not known, and what it can cut decides alone
 */
function differenceOf(shifts: ShiftTable, machine: MachineForLedger, from: Value, to: Value, pace: number | null): Difference {
  const most = mostBetween(shifts, machine, from.at, to.at)
  const perCount = stripsPerCount(machine)
  const rise = (to.value - from.value) * perCount
  if (rise >= 0) return rise <= most ? { strips: rise } : { code: 'MORE_THAN_IT_CAN_CUT' }
  const rolled = machine.counterModulus === null ? -1 : rise + machine.counterModulus * perCount
  const likeIt = pace === null || rolled <= UNLIKE_IT * pace * perCount * Math.max(1, daysOf(from.at, to.at))
  return rolled >= 0 && rolled <= most && likeIt ? { strips: rolled } : { code: 'RUNS_BACKWARDS' }
}

/** Readings in time order, split where a counter was replaced. */
function seriesOf(readings: readonly RawEvidence[]): { series: Reading[][]; closing: { at: Moment; value: number }[] } {
  const sorted = readings
    .filter((evidence): evidence is RawEvidence & { at: Moment; amount: number } => evidence.at !== null && evidence.amount !== null)
    .sort((a, b) => a.at.day - b.at.day || a.at.minute - b.at.minute || a.order - b.order)
  const series: Reading[][] = [[]]
  const closing: { at: Moment; value: number }[] = []
  for (const evidence of sorted) {
    if (evidence.kind === 'counter_replaced') {
      if (evidence.detail.lastReading !== undefined) closing[series.length - 1] = { at: evidence.at, value: evidence.detail.lastReading }
      series.push([])
    }
    ;(series.at(-1) as Reading[]).push({ evidence, at: evidence.at, value: evidence.amount })
  }
  return { series, closing }
}

/**
 * The longest run of readings that agree with each other; of equally long ones, the one that keeps what came in first.
 * Only asked for when neighbours disagree, so its square cost is rare.
 */
function longestAgreeing(readings: readonly Reading[], agrees: (from: Reading, to: Reading) => boolean): Set<number> {
  const best = readings.map(() => 1)
  const before = readings.map(() => -1)
  for (let to = 1; to < readings.length; to++)
    for (let from = to - 1; from >= 0; from--)
      if ((best[from] as number) + 1 > (best[to] as number) && agrees(readings[from] as Reading, readings[to] as Reading)) {
        best[to] = (best[from] as number) + 1
        before[to] = from
      }
  let at = best.indexOf(Math.max(...best))
  const kept = new Set<number>()
  while (at >= 0) {
    kept.add(at)
    at = before[at] as number
  }
  return kept
}

const REASONS = {
  RUNS_BACKWARDS: (value: number) =>
    `The reading ${value} lies below an earlier one, and a roll-over in the time between would mean far more strips than this machine cuts. Correct it, or report a new counter.`,
  MORE_THAN_IT_CAN_CUT: (value: number) =>
    `The reading ${value} means more strips than this machine can cut in the time between. Correct it, or dismiss it.`,
}

function intervalsOfSeries(
  shifts: ShiftTable,
  machine: MachineForLedger,
  readings: readonly Reading[],
  setAside: SetAside[],
): CounterInterval[] {
  const falls = readings.some(({ value }, index) => value < (readings[index - 1]?.value ?? value))
  const pace = falls ? busyPace(readings) : null
  const between = (from: Value, to: Value): Difference => differenceOf(shifts, machine, from, to, pace)
  const agrees = (from: Reading, to: Reading): boolean => 'strips' in between(from, to)
  const smooth = readings.every((reading, index) => index === 0 || agrees(readings[index - 1] as Reading, reading))
  const kept = smooth ? null : longestAgreeing(readings, agrees)
  const out: CounterInterval[] = []
  let last: Reading | null = null
  for (const [index, reading] of readings.entries()) {
    if (kept && !kept.has(index)) {
      const other = last ?? (readings.find((_, other) => kept.has(other)) as Reading)
      const [from, to] = isBefore(other.at, reading.at) ? [other, reading] : [reading, other]
      const difference = between(from, to)
      const code = 'code' in difference ? difference.code : 'RUNS_BACKWARDS'
      setAside.push({ evidenceId: reading.evidence.id, code, reason: REASONS[code](reading.value) })
      continue
    }
    if (last) {
      const difference = between(last, reading)
      if ('strips' in difference && isBefore(last.at, reading.at)) out.push({ from: last.at, to: reading.at, strips: difference.strips })
    }
    last = reading
  }
  return out
}

export function counterIntervals(
  shifts: ShiftTable,
  machine: MachineForLedger,
  readings: readonly RawEvidence[],
  setAside: SetAside[],
): CounterInterval[] {
  const { series, closing } = seriesOf(readings)
  return series.flatMap((readingsOfOne, index) => {
    const out = intervalsOfSeries(shifts, machine, readingsOfOne, setAside)
    const last = readingsOfOne.at(-1)
    const close = closing[index]
    if (last && close && isBefore(last.at, close.at)) {
      const difference = differenceOf(shifts, machine, last, close, busyPace(readingsOfOne))
      if ('strips' in difference) out.push({ from: last.at, to: close.at, strips: difference.strips })
    }
    return out
  })
}
