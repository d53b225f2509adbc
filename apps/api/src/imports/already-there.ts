/** Which pieces of evidence are in the books already, whoever sent them. */
import type { ParsedEvidenceItem } from '@tapewarden/shared'
import { lastDayOf } from '../evidence/judge.js'
import { addDays } from '../use/local-day.js'
import type { Changing } from '../use/work.js'

export interface Asked {
  index: number
  item: ParsedEvidenceItem
}

const thingOf = (item: ParsedEvidenceItem): string | null =>
  ('stationId' in item ? item.stationId : undefined) ?? ('machineId' in item ? item.machineId : undefined) ?? null

/** Between which days the books have what says the same; a moment's local day is not known here. */
function daysOf(item: ParsedEvidenceItem): [low: string, high: string] {
  switch (item.kind) {
    case 'counter_reading':
    case 'counter_replaced':
      return [addDays(item.at.slice(0, 10), -1), addDays(item.at.slice(0, 10), 1)]
    case 'strips_day':
    case 'cartons_day':
      return [item.day, item.day]
    case 'rolls':
      return [item.fromDate, item.fromDate]
    case 'monthly_tap':
      return [`${item.month}-01`, lastDayOf(item.month)]
  }
}

/** Of what is asked about, the things that have any evidence in those days: of most files none has. */
async function thingsWithSome(changing: Changing, items: readonly Asked[], column: string): Promise<Set<string>> {
  const things = new Set<string>()
  let [low, high] = daysOf((items[0] as Asked).item)
  for (const { item } of items) {
    const thing = thingOf(item)
    if (thing !== null) things.add(thing)
    const [from, to] = daysOf(item)
    if (from < low) low = from
    if (to > high) high = to
  }
  const rows = await changing.rows<{ id: string }>(
    `SELECT x.id FROM unnest($2::uuid[]) AS x(id)
     CROSS JOIN LATERAL (SELECT 1 FROM evidence e WHERE e.organisation_id = $1 AND e.${column} = x.id AND e.from_date BETWEEN $3 AND $4 LIMIT 1) AS e`,
    [[...things], low, high],
  )
  return new Set(rows.map(({ id }) => id))
}

/** What an item has in common with a row of the books that says the same; the days narrow the search before anything is compared. */
interface Print {
  index: number
  kind: string
  thing: string | null
  low: string
  high: string
  at: string | null
  till: string | null
  amount: number | null
  runs: string | null
  metres: number | null
}

function printOf({ index, item }: Asked): Print {
  const [low, high] = daysOf(item)
  const print: Print = {
    index,
    kind: item.kind,
    thing: thingOf(item),
    low,
    high,
    at: 'at' in item ? item.at : null,
    till: null,
    amount: null,
    runs: null,
    metres: null,
  }
  switch (item.kind) {
    case 'counter_reading':
      print.amount = item.value
      break
    case 'counter_replaced':
      print.amount = item.firstReading
      break
    case 'strips_day':
      print.till = item.day
      print.amount = item.strips
      break
    case 'cartons_day':
      print.till = item.day
      print.amount = item.cartons
      break
    case 'rolls':
      print.till = item.toDate
      print.amount = item.rolls
      print.metres = item.rollMetres
      break
    case 'monthly_tap':
      print.runs = item.runs
  }
  return print
}

const SAME = `e.from_date BETWEEN r.low AND r.high AND e.state = 'counted' AND e.kind = r.kind
  AND (r.at IS NULL OR date_trunc('minute', e.at_time) = date_trunc('minute', r.at)) AND (r.till IS NULL OR e.to_date = r.till)
  AND (r.amount IS NULL OR e.amount = r.amount) AND (r.runs IS NULL OR e.detail ->> 'runs' = r.runs)
  AND (r.metres IS NULL OR (e.detail ->> 'rollMetres')::float8 = r.metres)`

/** @param items all of machines, or all of stations. @returns indices; times are compared to the minute, as lists write them */
export async function alreadyThere(changing: Changing, items: readonly Asked[]): Promise<Set<number>> {
  if (items.length === 0) return new Set()
  const ofStations = items[0]?.item.kind === 'cartons_day'
  const some = await thingsWithSome(changing, items, ofStations ? 'station_id' : 'machine_id')
  const prints = items.filter(({ item }) => some.has(thingOf(item) ?? '')).map(printOf)
  if (prints.length === 0) return new Set()
  const rows = await changing.rows<{ index: number }>(
    `SELECT r.index FROM unnest($2::int[], $3::text[], $4::uuid[], $5::date[], $6::date[], $7::timestamptz[], $8::date[], $9::float8[], $10::text[], $11::float8[])
       AS r(index, kind, thing, low, high, at, till, amount, runs, metres)
     CROSS JOIN LATERAL (SELECT 1 FROM evidence e
       WHERE e.organisation_id = $1 AND ${ofStations ? 'e.station_id = r.thing AND e.machine_id IS NULL' : 'e.machine_id = r.thing'} AND ${SAME} LIMIT 1) AS e`,
    [
      prints.map(({ index }) => index),
      prints.map(({ kind }) => kind),
      prints.map(({ thing }) => thing),
      prints.map(({ low }) => low),
      prints.map(({ high }) => high),
      prints.map(({ at }) => at),
      prints.map(({ till }) => till),
      prints.map(({ amount }) => amount),
      prints.map(({ runs }) => runs),
      prints.map(({ metres }) => metres),
    ],
  )
  return new Set(rows.map(({ index }) => index))
}
