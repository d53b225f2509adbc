/** Puts beside each machine what its stoppages speak for; what that takes is read only where a machine stands out. */
import { repairableTrend } from '@tapewarden/reliability'
import { adviseOn, type MachineRecord } from '@tapewarden/scheduling'
import type { Reading } from '../use/work.js'
import { type Asked, inWarehouses } from './review-rows.js'
import type { MachineReview } from './review.js'
import { standOut } from './stands-out.js'

/** From fewer machines of a type, none is its usual one (assumption). */
const FEWEST_OF_TYPE = 3
const YEAR_HOURS = 8766

/** Strips cut in the period while in the warehouses asked about; a machine of which nothing is known has no row. */
async function stripsIn(reading: Reading, machineIds: readonly string[], { from, to, warehouseId }: Asked): Promise<Map<string, number>> {
  const rows = await reading.rows<{ machineId: string; strips: number }>(
    `SELECT machine_id AS "machineId", sum(strips)::float8 AS strips FROM ledger_day
     WHERE organisation_id = $1 AND ${inWarehouses('warehouse_id')} AND machine_id = ANY($4::uuid[]) AND day BETWEEN $5 AND $6 GROUP BY machine_id`,
    [reading.who.warehouseIds, warehouseId ?? null, machineIds, from, to],
  )
  return new Map(rows.map(({ machineId, strips }) => [machineId, strips]))
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? (sorted[middle] as number) : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2
}

/** Strips an hour in service over the median of the type. */
function timesUsual(reviews: readonly MachineReview[], strips: ReadonlyMap<string, number>): (number | null)[] {
  const rates = reviews.map(({ machine: { machineId, hoursObserved } }) => {
    const known = strips.get(machineId)
    return known === undefined || hoursObserved <= 0 ? null : known / hoursObserved
  })
  const ofType = new Map<string, number[]>()
  reviews.forEach(({ machine: { typeName } }, index) => {
    const rate = rates[index]
    if (rate !== null && rate !== undefined) ofType.set(typeName, [...(ofType.get(typeName) ?? []), rate])
  })
  return reviews.map(({ machine: { typeName } }, index) => {
    const [rate, others] = [rates[index] ?? null, ofType.get(typeName) ?? []]
    const usual = others.length < FEWEST_OF_TYPE ? 0 : median(others)
    return rate === null || usual <= 0 ? null : rate / usual
  })
}

function money(value: number, currency: string): string {
  const rounded = Number(value.toPrecision(2))
  return new Intl.NumberFormat('en-GB', { style: 'currency', currency, maximumFractionDigits: 0 }).format(rounded).replaceAll(',', '\u00a0')
}

function recordOf({
  machine,
  unplanned,
  unplannedAtHours,
  periodHours,
  currency,
}: MachineReview): Omit<MachineRecord, 'standsOutPerStrip' | 'timesUsualWork'> {
  const { standsOut, hoursObserved, cost } = machine
  return {
    unplanned: unplanned.length,
    standsOut,
    trend: standsOut && hoursObserved > 0 ? repairableTrend(unplannedAtHours, 'time', hoursObserved).laplace : null,
    parts: unplanned.map(({ componentName }) => componentName?.toLowerCase() ?? null),
    causes: unplanned.map(({ cause }) => cause),
    costAYear: cost === null || periodHours <= 0 ? null : money((cost * YEAR_HOURS) / periodHours, currency),
  }
}

/** @param reviews  with `standsOut` set, the worst first; the first `shown` get their advice, in the light of all */
export async function adviseFirst(reading: Reading, reviews: readonly MachineReview[], asked: Asked, shown: number): Promise<void> {
  const someStandOut = reviews.some(({ machine }) => machine.standsOut)
  const ids = reviews.map(({ machine }) => machine.machineId)
  const strips = someStandOut ? await stripsIn(reading, ids, asked) : new Map<string, number>()
  const perStrip = standOut(
    reviews.map(({ machine: { machineId, unplanned } }) => ({ unplanned, hoursObserved: strips.get(machineId) ?? 0 })),
  )
  const work = timesUsual(reviews, strips)
  reviews.slice(0, shown).forEach((review, index) => {
    const { machineId } = review.machine
    review.machine.advice = adviseOn({
      ...recordOf(review),
      standsOutPerStrip: (strips.get(machineId) ?? 0) > 0 && strips.size > 1 ? (perStrip[index] ?? null) : null,
      timesUsualWork: work[index] ?? null,
    })
  })
}
