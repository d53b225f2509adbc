/** Puts beside each machine what its stoppages speak for; what that takes is read only where a machine stands out. */
import { repairableTrend } from '@tapewarden/reliability'
import { adviseOn, type Advised, type MachineRecord } from '@tapewarden/scheduling'
import type { Reading } from '../use/work.js'
import { cut, hoursOf } from './intervals.js'
import { type Asked, inWarehouses } from './review-rows.js'
import { standOut } from './stands-out.js'
import type { Weighed } from './weigh.js'

/** From fewer machines of a type, none is its usual one (assumption). */
const FEWEST_OF_TYPE = 3
const YEAR_HOURS = 8766

const DAYS = `l.organisation_id = $1 AND l.machine_id = m.id AND l.day BETWEEN $4 AND $5`
/** Of a machine that stood nowhere else, the ledger's totals at both ends say it; of others each day is asked where it was. */
const STRIPS = `SELECT m.id AS "machineId", CASE
    WHEN m.id IN (SELECT p.machine_id FROM placement p WHERE p.organisation_id = $1 AND NOT (${inWarehouses('p.warehouse_id')}))
    THEN (SELECT sum(l.strips) FROM ledger_day l WHERE ${DAYS} AND ${inWarehouses('l.warehouse_id')})
    ELSE (SELECT l.strips_total FROM ledger_day l WHERE ${DAYS} ORDER BY l.day DESC LIMIT 1)
      - (SELECT l.strips_total - l.strips FROM ledger_day l WHERE ${DAYS} ORDER BY l.day LIMIT 1) END AS strips
  FROM machine m WHERE m.organisation_id = $1 AND m.id IN (SELECT p.machine_id FROM placement p WHERE p.organisation_id = $1 AND ${inWarehouses('p.warehouse_id')})`

/** Strips cut in the period while in the warehouses asked about; a machine of which nothing is known has none. */
async function stripsIn(reading: Reading, { from, to, warehouseId }: Asked): Promise<Map<string, number>> {
  const rows = await reading.rows<{ machineId: string; strips: number | null }>(STRIPS, [
    reading.who.warehouseIds,
    warehouseId ?? null,
    from,
    to,
  ])
  return new Map(rows.flatMap(({ machineId, strips }) => (strips === null ? [] : [[machineId, strips]])))
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? (sorted[middle] as number) : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2
}

/** Strips an hour in service over the median of the type. */
function timesUsual(reviews: readonly Weighed[], strips: ReadonlyMap<string, number>): (number | null)[] {
  const rates = reviews.map(({ machine: { id }, hoursObserved }) => {
    const known = strips.get(id)
    return known === undefined || hoursObserved <= 0 ? null : known / hoursObserved
  })
  const ofType = new Map<string, number[]>()
  reviews.forEach(({ machine: { typeId } }, index) => {
    const rate = rates[index]
    if (rate === null || rate === undefined) return
    const others = ofType.get(typeId)
    if (others) others.push(rate)
    else ofType.set(typeId, [rate])
  })
  const usual = new Map([...ofType].map(([typeId, others]) => [typeId, others.length < FEWEST_OF_TYPE ? 0 : median(others)]))
  return reviews.map(({ machine: { typeId } }, index) => {
    const [rate, usually] = [rates[index] ?? null, usual.get(typeId) ?? 0]
    return rate === null || usually <= 0 ? null : rate / usually
  })
}

function money(value: number, currency: string): string {
  const rounded = Number(value.toPrecision(2))
  return new Intl.NumberFormat('en-GB', { style: 'currency', currency, maximumFractionDigits: 0 }).format(rounded).replaceAll(',', '\u00a0')
}

/** After how many hours in service each came; one at the very first moment is set a second later, where a logarithm can stand it. */
function cameAtHours({ unplanned, service, hoursObserved }: Weighed): number[] {
  return unplanned.map(({ failed }) => {
    const hours = hoursOf(cut(service, { from: service[0]?.from ?? failed, to: failed }))
    return Math.min(hoursObserved, Math.max(1 / 3600, hours))
  })
}

function recordOf(weighed: Weighed): Omit<MachineRecord, 'standsOutPerStrip' | 'timesUsualWork'> {
  const { standsOut, hoursObserved, unplanned, cost, periodHours, currency } = weighed
  return {
    unplanned: unplanned.length,
    standsOut,
    trend: standsOut && hoursObserved > 0 ? repairableTrend(cameAtHours(weighed), 'time', hoursObserved).laplace : null,
    parts: unplanned.map(({ componentName }) => componentName?.toLowerCase() ?? null),
    causes: unplanned.map(({ cause }) => cause),
    costAYear: !standsOut || cost === null || periodHours <= 0 ? null : money((cost * YEAR_HOURS) / periodHours, currency),
  }
}

/** @param reviews  with `standsOut` set  @returns the advice for one of them, by its index, in the light of all */
export async function adviceFor(
  reading: Reading,
  reviews: readonly Weighed[],
  asked: Asked,
): Promise<(weighed: Weighed, index: number) => Advised> {
  if (!reviews.some(({ standsOut }) => standsOut))
    return (weighed) => adviseOn({ ...recordOf(weighed), standsOutPerStrip: null, timesUsualWork: null })
  const strips = await stripsIn(reading, asked)
  const perStrip = standOut(
    reviews.map(({ machine: { id }, unplanned }) => ({ unplanned: unplanned.length, hoursObserved: strips.get(id) ?? 0 })),
  )
  const work = timesUsual(reviews, strips)
  return (weighed, index) =>
    adviseOn({
      ...recordOf(weighed),
      standsOutPerStrip: (strips.get(weighed.machine.id) ?? 0) > 0 && strips.size > 1 ? (perStrip[index] ?? null) : null,
      timesUsualWork: work[index] ?? null,
    })
}
