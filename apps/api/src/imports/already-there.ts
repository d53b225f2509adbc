/** Which pieces of evidence are in the books already, whoever sent them. */
import type { ParsedEvidenceItem } from '@tapewarden/shared'
import { addDays } from '../use/local-day.js'
import type { Changing } from '../use/work.js'

export interface Asked {
  index: number
  item: ParsedEvidenceItem
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
  const { kind } = item
  const thing = ('stationId' in item ? item.stationId : undefined) ?? ('machineId' in item ? item.machineId : undefined) ?? null
  const on = (low: string, high: string, till: string | null, amount: number | null): Print => {
    return { index, kind, thing, low, high, at: null, till, amount, runs: null, metres: null }
  }
  switch (item.kind) {
    case 'counter_reading':
    case 'counter_replaced': {
      // Its local day, wherever the machine stands.
      const day = item.at.slice(0, 10)
      const amount = item.kind === 'counter_reading' ? item.value : item.firstReading
      return { ...on(addDays(day, -1), addDays(day, 1), null, amount), at: item.at }
    }
    case 'strips_day':
      return on(item.day, item.day, item.day, item.strips)
    case 'cartons_day':
      return on(item.day, item.day, item.day, item.cartons)
    case 'rolls':
      return { ...on(item.fromDate, item.fromDate, item.toDate, item.rolls), metres: item.rollMetres }
    case 'monthly_tap':
      return { ...on(`${item.month}-01`, `${item.month}-01`, null, null), runs: item.runs }
  }
}

/** Of what is asked about, the things that have any evidence in those days: of most files none has. */
async function thingsWithSome(changing: Changing, prints: readonly Print[], thing: string): Promise<Set<string>> {
  const [first] = prints as [Print]
  const low = prints.reduce((least, one) => (one.low < least ? one.low : least), first.low)
  const high = prints.reduce((most, one) => (one.high > most ? one.high : most), first.high)
  const rows = await changing.rows<{ id: string }>(
    `SELECT x.id FROM unnest($2::uuid[]) AS x(id)
     WHERE EXISTS (SELECT 1 FROM evidence e WHERE e.organisation_id = $1 AND e.${thing} = x.id AND e.from_date BETWEEN $3 AND $4)`,
    [[...new Set(prints.map((one) => one.thing))], low, high],
  )
  return new Set(rows.map(({ id }) => id))
}

const SAME = `e.from_date BETWEEN r.low AND r.high AND e.state = 'counted' AND e.kind = r.kind
  AND (r.at IS NULL OR date_trunc('minute', e.at_time) = date_trunc('minute', r.at)) AND (r.till IS NULL OR e.to_date = r.till)
  AND (r.amount IS NULL OR e.amount = r.amount) AND (r.runs IS NULL OR e.detail ->> 'runs' = r.runs)
  AND (r.metres IS NULL OR (e.detail ->> 'rollMetres')::float8 = r.metres)`

/** @param items all of machines, or all of stations. @returns indices; times are compared to the minute, as lists write them */
export async function alreadyThere(changing: Changing, items: readonly Asked[]): Promise<Set<number>> {
  if (items.length === 0) return new Set()
  const all = items.map(printOf)
  const ofStations = items[0]?.item.kind === 'cartons_day'
  const some = await thingsWithSome(changing, all, ofStations ? 'station_id' : 'machine_id')
  const prints = all.filter(({ thing }) => thing !== null && some.has(thing))
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
