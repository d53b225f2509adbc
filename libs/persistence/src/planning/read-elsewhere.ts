import type { PgScope } from '../pg-scope.js'
import { dayNumber } from './days.js'
import { type ComponentRow, type DoneRow, readLastDoneTo } from './read-history.js'

interface EarlierPlacement extends Record<string, unknown> {
  component_id: string
  machine_id: string
  from_date: string | null
  to_date: string
  used_strips_before: number
}

/** What is known of components in place from the time when they were in other machines. */
export interface ElsewhereRows {
  done: readonly DoneRow[]
  /** Strips a component had done at the end of a day in an earlier placement; null: not known. */
  usedAt(componentId: string, machineId: string, day: number, totals: LedgerTotals): number | null
}

/** Totals of this pass's own ledgers, which are newer than the stored ones; undefined: a machine of another chunk. */
export type LedgerTotals = (machineId: string, day: number) => number | null | undefined

const NOTHING: ElsewhereRows = { done: [], usedAt: () => null }

type Pair = readonly [machineId: string, day: string]

/** Ledger totals at the ends of days, of machines that need not belong to the chunk. */
async function readTotals(scope: PgScope, pairs: readonly Pair[]): Promise<Map<string, number>> {
  const rows = await scope.arrays<[string, string, number]>(
    `SELECT q.machine_id, q.day, l.strips_total FROM unnest($2::uuid[], $3::date[]) AS q(machine_id, day)
     CROSS JOIN LATERAL (SELECT strips_total FROM ledger_day l WHERE l.organisation_id = $1 AND l.machine_id = q.machine_id AND l.day <= q.day ORDER BY l.day DESC LIMIT 1) l`,
    [scope.organisationId, pairs.map(([machineId]) => machineId), pairs.map(([, day]) => day)],
  )
  return new Map(rows.map(([machineId, day, total]) => [`${machineId} ${dayNumber(day)}`, total]))
}

/** Only components that were in another machine before cost anything here. */
export async function readElsewhere(
  scope: PgScope,
  components: readonly ComponentRow[],
  lengths: readonly [string, string, number, string][],
): Promise<ElsewhereRows> {
  const moved = components.filter((component) => component.placed_before).map((component) => component.component_id)
  if (moved.length === 0) return NOTHING
  const done = await readLastDoneTo(scope, moved)
  const placements = await scope.rows<EarlierPlacement>(
    `SELECT component_id, machine_id, from_date, to_date, used_strips_before FROM component_placement WHERE organisation_id = $1 AND component_id = ANY($2::uuid[]) AND to_date IS NOT NULL`,
    [scope.organisationId, moved],
  )
  const isMoved = new Set(moved)
  const asked: Pair[] = [
    ...placements.flatMap((placement) => (placement.from_date ? [[placement.machine_id, placement.from_date] as const] : [])),
    ...done.map((row) => [row.machine_id, row.done_on] as const),
    ...lengths.filter(([componentId]) => isMoved.has(componentId)).map(([, day, , machineId]) => [machineId, day] as const),
  ]
  const totals = await readTotals(scope, asked)
  return { done, usedAt: (componentId, machineId, day, own) => usedAt(placements, totals, own, componentId, machineId, day) }
}

function usedAt(
  placements: readonly EarlierPlacement[],
  stored: ReadonlyMap<string, number>,
  own: LedgerTotals,
  componentId: string,
  machineId: string,
  day: number,
): number | null {
  const placement = placements.find(
    (one) =>
      one.component_id === componentId &&
      one.machine_id === machineId &&
      one.from_date !== null &&
      dayNumber(one.from_date) <= day &&
      day <= dayNumber(one.to_date),
  )
  if (!placement?.from_date) return null
  const totalAt = (on: number) => {
    const total = own(machineId, on)
    return total === undefined ? (stored.get(`${machineId} ${on}`) ?? null) : total
  }
  const [at, fitted] = [totalAt(day), totalAt(dayNumber(placement.from_date))]
  return at === null || fitted === null ? null : placement.used_strips_before + at - fitted
}
