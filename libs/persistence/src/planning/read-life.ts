import { estimateLife, type LifeRange, type PartRecord, priorFromRange } from '@tapewarden/reliability'
import type { LifeOfComponent } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { dayNumber } from './days.js'
import type { WarehouseFacts } from './read-warehouse.js'

/** What the trade says of a part's life in years (common practice, no source); a type without a range gets no life date. */
export const TRADE_RANGES: Readonly<Record<string, LifeRange>> = { blade: { fivePercent: 5, ninetyFivePercent: 20 } }
const YEAR_DAYS = 365.25

export interface PartRow extends Record<string, unknown> {
  key: string
  new_on: string | null
  registered_on: string
  /** null: in a machine today. */
  removed_on: string | null
  reason: string | null
}

const PARTS = `
  SELECT t.key, c.new_on, min(m.registered_on) AS registered_on,
    CASE WHEN bool_or(p.to_date IS NULL) THEN NULL ELSE max(p.to_date) END AS removed_on,
    (array_agg(p.removal_reason ORDER BY p.to_date DESC NULLS FIRST))[1] AS reason
  FROM component c
  JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = ANY($2)
  JOIN component_placement p ON p.organisation_id = $1 AND p.component_id = c.id
  JOIN machine m ON m.organisation_id = $1 AND m.id = p.machine_id
  WHERE c.organisation_id = $1 AND c.counts_in_life_data
  GROUP BY t.key, c.id, c.new_on
  ORDER BY c.new_on, removed_on, registered_on, reason`

/** Worn out and broken are the end of a life; planned, moved and unknown removals, and parts in place, only say how long it held. */
export function partRecordOf(row: PartRow, today: number): PartRecord {
  const end = row.removed_on === null ? today : dayNumber(row.removed_on)
  const registered = dayNumber(row.registered_on)
  const start = row.new_on === null ? null : dayNumber(row.new_on)
  const age = start === null ? null : Math.max(0, end - start) / YEAR_DAYS
  return {
    age,
    ageAtRegistration: start === null ? 0 : Math.max(0, Math.min(registered, end) - start) / YEAR_DAYS,
    failed: row.reason === 'worn' || row.reason === 'broken',
    removedBeforeRegistration: row.removed_on !== null && dayNumber(row.removed_on) < registered,
  }
}

/** Component types of which some task here wants to know the life. */
function wantedKeys(facts: WarehouseFacts): string[] {
  const keys = new Set<string>()
  for (const task of facts.taskById.values())
    if (
      task.componentKey !== null &&
      task.componentKey in TRADE_RANGES &&
      task.triggers.some(({ kind }) => kind === 'life' || kind === 'least_cost_age')
    )
      keys.add(task.componentKey)
  return [...keys]
}

/** The life of each part type that a plan asks for, from all the organisation's parts; one query. */
export async function readLife(scope: PgScope, facts: WarehouseFacts, today: number): Promise<Readonly<Record<string, LifeOfComponent>>> {
  const keys = wantedKeys(facts)
  if (keys.length === 0) return {}
  const rows = await scope.rows<PartRow>(PARTS, [scope.organisationId, keys])
  return Object.fromEntries(
    keys.map((key) => [
      key,
      lifeOf(
        rows.filter((row) => row.key === key),
        TRADE_RANGES[key] as LifeRange,
        today,
      ),
    ]),
  )
}

/** What the dates of a part type are worked out with: the trade's range drawn towards the organisation's own parts. */
export function lifeOf(rows: readonly PartRow[], range: LifeRange, today: number): LifeOfComponent {
  const estimate = estimateLife(
    rows.map((row) => partRecordOf(row, today)),
    priorFromRange(range),
  )
  const removals = rows.filter((row) => row.removed_on !== null).length
  const { shape, scale, logCovariance, failures, shapeLower95 } = estimate
  return { shape, scaleYears: scale, logCovariance, removals, failures, shapeLower95 }
}
