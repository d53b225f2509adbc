import type { ParsedEvidenceItem } from '@tapewarden/shared'
import { addDays, daysBetween, localDateOf } from '../use/local-day.js'
import { sayLocalDay, sayLocalMoment } from '../use/local-words.js'
import { type KnownMachine, type KnownStation, placementAt, placementOn } from './known-things.js'

/** Evidence in the form in which it is kept. */
export interface Row {
  kind: ParsedEvidenceItem['kind']
  warehouseId: string
  machineId: string | null
  stationId: string | null
  at: string | null
  fromDate: string
  toDate: string
  amount: number | null
  detail: Readonly<Record<string, unknown>>
}
const NO_DETAIL: Row['detail'] = {}

export interface Fault {
  code: string
  reason: string
}

export function lastDayOf(month: string): string {
  const [year, number] = month.split('-').map(Number) as [number, number]
  return new Date(Date.UTC(year, number, 0)).toISOString().slice(0, 10)
}

/** @param place  where the machine stood, or the station stands; null: nothing we know */
export function rowOf(
  item: ParsedEvidenceItem,
  machine: KnownMachine | null,
  station: KnownStation | null,
  fallbackWarehouseId: string,
): Row {
  const [machineId, stationId] = [machine?.id ?? null, machine ? null : (station?.id ?? null)]
  const daily = (fromDate: string, toDate: string, amount: number | null, detail: Row['detail']): Row => {
    const warehouseId = (machine ? placementOn(machine, toDate)?.warehouseId : station?.warehouseId) ?? fallbackWarehouseId
    return { kind: item.kind, warehouseId, machineId, stationId, at: null, fromDate, toDate, amount, detail }
  }
  switch (item.kind) {
    case 'counter_reading':
    case 'counter_replaced': {
      const at = new Date(item.at)
      const place = machine ? placementAt(machine, at.getTime()) : null
      const warehouseId = place?.warehouseId ?? fallbackWarehouseId
      const day = localDateOf(at, place?.zone ?? 'UTC')
      const [amount, detail] =
        item.kind === 'counter_reading'
          ? [item.value, NO_DETAIL]
          : [item.firstReading, item.lastReading === undefined ? NO_DETAIL : { lastReading: item.lastReading }]
      return { kind: item.kind, warehouseId, machineId, stationId, at: at.toISOString(), fromDate: day, toDate: day, amount, detail }
    }
    case 'strips_day':
      return daily(item.day, item.day, item.strips, NO_DETAIL)
    case 'cartons_day':
      return daily(item.day, item.day, item.cartons, NO_DETAIL)
    case 'rolls':
      return daily(item.fromDate, item.toDate, item.rolls, { rollMetres: item.rollMetres })
    case 'monthly_tap':
      return daily(`${item.month}-01`, lastDayOf(item.month), null, { runs: item.runs })
  }
}

const MINUTES_A_DAY = 1440
const AHEAD_MS = 300_000

const todays = new WeakMap<Date, Map<string, string>>()

/** Asked once a piece of a batch, whose now is one: finding a zone's day anew costs as much as all the rest of judging. */
function todayIn(zone: string, now: Date): string {
  const known = todays.get(now) ?? new Map<string, string>()
  const today = known.get(zone) ?? localDateOf(now, zone)
  todays.set(now, known.set(zone, today))
  return today
}

/** What is plainly impossible is told at once; the ledger judges the rest with everything it knows. */
export function faultOf(
  item: ParsedEvidenceItem,
  row: Row,
  machine: KnownMachine | null,
  station: KnownStation | null,
  now: Date,
): Fault | null {
  if (!machine && !station) return { code: 'UNKNOWN_MACHINE', reason: unknownWords(item) }
  const zone = station?.zone ?? (machine && placementOn(machine, row.toDate)?.zone) ?? 'UTC'
  const today = todayIn(zone, now)
  const future =
    row.at === null
      ? item.kind === 'monthly_tap'
        ? row.fromDate > today
        : row.toDate > today
      : Date.parse(row.at) > now.getTime() + AHEAD_MS
  if (future)
    return {
      code: 'IN_THE_FUTURE',
      reason: `It is for ${row.at === null ? sayLocalDay(row.toDate) : sayLocalMoment(new Date(row.at), zone)}, which lies in the future. Correct the date, or dismiss it.`,
    }
  if (row.toDate < row.fromDate)
    return {
      code: 'DATES_CROSS',
      reason: `Its last day, ${sayLocalDay(row.toDate)}, lies before its first day, ${sayLocalDay(row.fromDate)}.`,
    }
  return machine ? machineFault(item, row, machine) : null
}

function unknownWords(item: ParsedEvidenceItem): string {
  const named =
    ('labelCode' in item && item.labelCode) || ('machineId' in item && item.machineId) || ('stationId' in item && item.stationId)
  return named ? `Nothing here is called ${named}. Register it, or correct the name.` : 'It names neither machine nor station.'
}

function machineFault(item: ParsedEvidenceItem, row: Row, machine: KnownMachine): Fault | null {
  const mostADay = machine.mostStripsPerMinute * MINUTES_A_DAY
  if (item.kind === 'strips_day' && item.strips > mostADay)
    return {
      code: 'MORE_THAN_IT_CAN_CUT',
      reason: `${item.strips} strips on ${sayLocalDay(item.day)}: the machine can cut ${Math.round(mostADay)} in 24 hours at most.`,
    }
  if (item.kind === 'rolls') {
    const strips = (item.rolls * item.rollMetres * 1000) / machine.meanStripMm
    const days = daysBetween(row.fromDate, addDays(row.toDate, 1))
    if (strips > mostADay * days)
      return {
        code: 'MORE_THAN_IT_CAN_CUT',
        reason: `${item.rolls} rolls in ${days} days are ${Math.round(strips)} strips: more than the machine can cut.`,
      }
  }
  if (item.kind === 'counter_reading') return counterFault(item.value, Date.parse(item.at), machine)
  if (item.kind === 'counter_replaced' && machine.counterKind === 'none') return noCounter(machine)
  return null
}

function noCounter(machine: KnownMachine): Fault {
  return { code: 'NO_COUNTER', reason: `Machines of ${machine.labelCode}'s type have no counter. Correct the machine, or the type.` }
}

/** A fall is a roll-over only if the implied difference could be cut in the time between. */
function counterFault(value: number, atMs: number, machine: KnownMachine): Fault | null {
  if (machine.counterKind === 'none') return noCounter(machine)
  const before = machine.readings.findLast((reading) => reading.atMs <= atMs)
  if (!before) return null
  const minutes = (atMs - before.atMs) / 60_000
  const most = machine.mostStripsPerMinute * minutes * (machine.counterKind === 'metres' ? machine.meanStripMm / 1000 : 1)
  const zone = placementAt(machine, before.atMs)?.zone ?? 'UTC'
  const words = `${value} after ${before.value} on ${sayLocalMoment(new Date(before.atMs), zone)}`
  if (value >= before.value)
    return value - before.value <= most + 1
      ? null
      : { code: 'MORE_THAN_IT_CAN_CUT', reason: `The counter stands at ${words}: more than the machine can cut in that time.` }
  const modulus = machine.counterModulus
  if (modulus !== null && before.value < modulus && value < modulus && modulus - before.value + value <= most + 1) return null
  return {
    code: 'RUNS_BACKWARDS',
    reason: `The counter stands at ${words}: it runs backwards, and not by rolling over. Correct one of the two, or say that the counter was replaced.`,
  }
}
