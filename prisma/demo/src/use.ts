/** Eighteen months of true use, and the evidence that the firm has of it: counters, cartons, strips, rolls, or one tap a month. */
import { newId } from '@tapewarden/platform'
import { addDays, dayNumber, weekday } from './days.js'
import type { DemoMachine } from './machines.js'
import type { Hall } from './places.js'
import type { Random } from './random.js'
import type { Rows } from './rows.js'

export const DAYS_OF_USE = 548
const WEEKDAY_SHAPE = [0, 1.15, 1.05, 1, 0.95, 0.85, 0.4, 0]
const ROLL_METRES = 150

/** Strips a day, oldest first, ending yesterday. */
export interface TrueUse {
  machine: DemoMachine
  days: { date: string; strips: number }[]
}

function isWorked(hall: Hall, date: string): boolean {
  return !hall.closed.has(date) && hall.shifts.some(([day]) => day === weekday(date))
}

function peakFactor(hall: Hall, date: string): number {
  return hall.peaks.find(({ from, to }) => from <= date && date <= to)?.multiplier ?? 1
}

export function makeUse(machine: DemoMachine, random: Random): TrueUse {
  const { hall } = machine
  const days: TrueUse['days'] = []
  let drift = random.normal(0, 0.08)
  for (let back = DAYS_OF_USE; back >= 1; back--) {
    const date = addDays(hall.today, -back)
    drift += random.normal(0, 0.006)
    const idle = machine.status !== 'in_service' && date >= machine.statusSince
    const worked = isWorked(hall, date) && !idle && !(machine.commissionedOn !== null && date < machine.commissionedOn)
    const mean = worked ? machine.level * (WEEKDAY_SHAPE[weekday(date)] ?? 1) * peakFactor(hall, date) * Math.exp(drift) : 0
    days.push({ date, strips: Math.max(0, Math.round(mean * Math.exp(random.normal(0, 0.18)))) })
  }
  return { machine, days }
}

export const stripsBetween = (use: TrueUse, from: string, to: string): number =>
  use.days.reduce((sum, { date, strips }) => (date > from && date <= to ? sum + strips : sum), 0)

interface EvidenceRow {
  kind: string
  machine?: DemoMachine
  stationId?: string
  at?: string
  from: string
  to?: string
  amount: number | null
  detail?: object
  source: string
}

function addEvidence(rows: Rows, hall: Hall, row: EvidenceRow): void {
  const id = newId()
  const to = row.to ?? row.from
  const externalId = `${row.kind}:${row.machine?.labelCode ?? row.stationId}:${row.at ?? row.from}:${to}`
  rows.add('evidence', {
    id,
    kind: row.kind,
    warehouse_id: hall.id,
    machine_id: row.machine?.id ?? null,
    station_id: row.stationId ?? null,
    at_time: row.at ?? null,
    from_date: row.from,
    to_date: to,
    amount: row.amount,
    detail: row.detail ?? {},
    source: row.source,
    external_id: externalId,
    state: 'counted',
    created_at: `${addDays(to, 1)}T00:30:00Z`,
  })
  rows.add('evidence_key', { source: row.source, external_id: externalId, evidence_id: id })
}

/** Readings every `every` days; the counter had run before and may roll over. */
function addCounter(rows: Rows, use: TrueUse, every: number, random: Random): void {
  const { machine } = use
  const perStrip = machine.type.counterKind === 'metres' ? machine.type.meanStripMm / 1000 : 1
  const modulus = machine.type.counterModulus ?? Number.POSITIVE_INFINITY
  let counter = random.chance(0.2) ? modulus - random.whole(20_000, 90_000) : random.whole(30_000, 700_000)
  for (const [index, { date, strips }] of use.days.entries()) {
    if (index % every === 0)
      addEvidence(rows, machine.hall, {
        kind: 'counter_reading',
        machine,
        at: `${date}T12:00:00Z`,
        from: date,
        amount: Math.round(counter) % modulus,
        source: 'walk-round',
      })
    counter += strips * perStrip
  }
}

function addMonthly(rows: Rows, use: TrueUse, kind: 'tap' | 'rolls'): void {
  const { machine } = use
  let from = use.days[0]?.date as string
  while (from < machine.hall.today) {
    const next = nextMonth(from)
    const to = addDays(next, -1)
    if (to >= machine.hall.today) break
    const strips = stripsBetween(use, addDays(from, -1), to)
    const usual = machine.type.usualStripsPerDay * 21
    if (kind === 'tap') {
      const runs = strips > 0.7 * usual ? 'all_day' : strips > 0.15 * usual ? 'some_hours' : 'seldom'
      addEvidence(rows, machine.hall, { kind: 'monthly_tap', machine, from, to, amount: null, detail: { runs }, source: 'tap' })
    } else
      addEvidence(rows, machine.hall, {
        kind: 'rolls',
        machine,
        from,
        to,
        amount: Math.round((strips * machine.type.meanStripMm) / 1000 / ROLL_METRES),
        detail: { rollMetres: ROLL_METRES },
        source: 'store',
      })
    from = next
  }
}

function nextMonth(date: string): string {
  const [year, month] = date.split('-').map(Number) as [number, number]
  return month === 12 ? `${year + 1}-01-01` : `${year}-${String(month + 1).padStart(2, '0')}-01`
}

export function addAllEvidence(rows: Rows, uses: TrueUse[], random: Random): void {
  const byStation = new Map<string, TrueUse[]>()
  for (const use of uses) {
    const { machine } = use
    if (machine.type.counterKind !== 'none') addCounter(rows, use, machine.hall.key === 'north' ? 7 : 28, random)
    else if (machine.hall.key === 'prairie' && random.chance(0.6)) {
      for (const { date, strips } of use.days)
        if (strips > 0) addEvidence(rows, machine.hall, { kind: 'strips_day', machine, from: date, amount: strips, source: 'line-control' })
    } else if (machine.hall.key === 'harbour') addMonthly(rows, use, random.chance(0.4) ? 'rolls' : 'tap')
    else if (machine.hall.key === 'north' && machine.stationId !== null)
      byStation.set(machine.stationId, [...(byStation.get(machine.stationId) ?? []), use])
  }
  for (const [stationId, group] of byStation) addCartons(rows, stationId, group, random)
  addContradictions(rows, uses)
}

function addCartons(rows: Rows, stationId: string, group: TrueUse[], random: Random): void {
  const hall = group[0]?.machine.hall as Hall
  const perCarton = hall.stations.find(({ id }) => id === stationId)?.stripsPerCarton ?? 2
  for (const [index, { date }] of (group[0] as TrueUse).days.entries()) {
    const strips = group.reduce((sum, use) => sum + (use.days[index]?.strips ?? 0), 0)
    if (strips > 0)
      addEvidence(rows, hall, {
        kind: 'cartons_day',
        stationId,
        from: date,
        amount: Math.round((strips / perCarton) * Math.exp(random.normal(0, 0.04))),
        source: 'dispatch',
      })
  }
}

/** Two readings that cannot be true, for the desk to show: one runs backwards, one is far more than the machine can cut. */
function addContradictions(rows: Rows, uses: TrueUse[]): void {
  const counting = uses.filter(({ machine }) => machine.type.counterKind === 'strips' && machine.status === 'in_service')
  const [first, second] = counting
  if (!first || !second) return
  const day = addDays(first.machine.hall.today, -4)
  const earlier = (rows.byTable.get('evidence') ?? []).filter((row) => row.machine_id === first.machine.id).at(-1)
  addEvidence(rows, first.machine.hall, {
    kind: 'counter_reading',
    machine: first.machine,
    at: `${day}T13:30:00Z`,
    from: day,
    amount: Math.max(0, Number(earlier?.amount ?? 5000) - 4310),
    source: 'walk-round',
  })
  addEvidence(rows, second.machine.hall, {
    kind: 'strips_day',
    machine: second.machine,
    from: day,
    amount: 480_000,
    source: 'line-control',
  })
}

export const daysAgo = (hall: Hall, date: string): number => dayNumber(hall.today) - dayNumber(date)
