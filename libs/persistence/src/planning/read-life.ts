import { estimateLife, type LifeRange, type PartRecord, priorFromRange } from '@tapewarden/reliability'
import { type LifeOfComponent, stripsOfAYear } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { dayNumber, dayText } from './days.js'
import type { WarehouseFacts } from './read-warehouse.js'
import { TYPE_DEFAULTS } from './type-facts.js'

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
  /** Of a part that lives in strips: those it has done, in years of its type's usual use. null: it lives in years, or they are not known. */
  years_of_use: number | null
  /** Of them before it came under observation. */
  years_of_use_at_entry: number | null
}

/**
 * Ledger total at the end of a day, as the planner takes it: null before the ledger's first day but one.
 * A day that may be missing is a CASE: row-level security lets no COALESCE look into the index, and a probe would read all years.
 */
const totalAt = (
  day: string,
): string => `(SELECT CASE WHEN l.day <= ${day} THEN l.strips_total ELSE l.strips_total - l.strips END FROM ledger_day l
      WHERE l.organisation_id = cp.organisation_id AND l.machine_id = cp.machine_id AND l.day <= ${day} + 1 ORDER BY l.day DESC LIMIT 1)`
const livesInStrips = `t.key = 'blade' AND mt.blade_life_unit = 'strips'`
const strips = `COALESCE(mt.usual_strips_per_day, ${TYPE_DEFAULTS.usualStripsPerDay}) * ${stripsOfAYear(1)}`

/**
 * Columns of a placement \`cp\` of a part of type \`t\` in a machine \`m\` of type \`mt\`: years of the type's usual use that the part
 * has done by its end, or by `today`, and before the machine was registered.
 */
export const yearsOfUse = (today: string): string => `
    CASE WHEN ${livesInStrips} THEN (cp.used_strips_before + GREATEST(0, ${totalAt(`CASE WHEN cp.to_date IS NULL THEN ${today} ELSE cp.to_date END`)} - ${totalAt('cp.from_date')})) / (${strips}) END AS years_of_use,
    CASE WHEN ${livesInStrips} THEN (cp.used_strips_before + CASE WHEN cp.from_date >= m.registered_on THEN 0
      ELSE GREATEST(0, ${totalAt('m.registered_on')} - ${totalAt('cp.from_date')}) END) / (${strips}) END AS years_of_use_at_entry`
/** Of a part's placements the newest says what it has done, the first what it had done before. */
export const YEARS_OF_USE_OF_PART = `
    (array_agg(years_of_use ORDER BY to_date DESC NULLS FIRST))[1] AS years_of_use,
    (array_agg(years_of_use_at_entry ORDER BY from_date NULLS FIRST))[1] AS years_of_use_at_entry`

const PARTS = `
  WITH spans AS (
    SELECT t.key, c.id, c.new_on, m.registered_on, cp.from_date, cp.to_date, cp.removal_reason, ${yearsOfUse('$3::date')}
    FROM component c
    JOIN component_type t ON t.organisation_id = $1 AND t.id = c.component_type_id AND t.key = ANY($2)
    JOIN component_placement cp ON cp.organisation_id = $1 AND cp.component_id = c.id
    JOIN machine m ON m.organisation_id = $1 AND m.id = cp.machine_id
    JOIN machine_type mt ON mt.organisation_id = $1 AND mt.id = m.machine_type_id
    WHERE c.organisation_id = $1 AND c.counts_in_life_data)
  SELECT key, new_on, min(registered_on) AS registered_on,
    CASE WHEN bool_or(to_date IS NULL) THEN NULL ELSE max(to_date) END AS removed_on,
    (array_agg(removal_reason ORDER BY to_date DESC NULLS FIRST))[1] AS reason,${YEARS_OF_USE_OF_PART}
  FROM spans
  GROUP BY key, id, new_on
  ORDER BY new_on, removed_on, registered_on, reason, years_of_use`

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

/** As the dates take it: where the part lives in strips and they are known, its ages are years of its type's usual use. */
export function livedRecordOf(row: PartRow, today: number): PartRecord {
  const record = partRecordOf(row, today)
  const { years_of_use: age, years_of_use_at_entry: entry } = row
  return record.age === null || age === null || entry === null ? record : { ...record, age, ageAtRegistration: Math.min(age, entry) }
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
  const parts = new Map(keys.map((key): [string, PartsOfType] => [key, { records: [], removals: 0 }]))
  await scope.each<PartRow>(PARTS, [scope.organisationId, keys, dayText(today)], (row) => {
    const of = parts.get(row.key) as PartsOfType
    of.records.push(livedRecordOf(row, today))
    if (row.removed_on !== null) of.removals += 1
  })
  return Object.fromEntries([...parts].map(([key, of]) => [key, lifeFrom(of, TRADE_RANGES[key] as LifeRange)]))
}

/** Kept instead of the rows, which took some fifty megabytes of two threads with a hundred thousand machines. */
interface PartsOfType {
  records: PartRecord[]
  removals: number
}

/** What the dates of a part type are worked out with: the trade's range drawn towards the organisation's own parts. */
export function lifeOf(rows: readonly PartRow[], range: LifeRange, today: number): LifeOfComponent {
  const removals = rows.filter((row) => row.removed_on !== null).length
  return lifeFrom({ records: rows.map((row) => livedRecordOf(row, today)), removals }, range)
}

function lifeFrom({ records, removals }: PartsOfType, range: LifeRange): LifeOfComponent {
  const estimate = estimateLife(records, priorFromRange(range), false, range.fivePercent)
  const { shape, scale, logCovariance, failures, shapeLower95 } = estimate
  return { shape, scaleYears: scale, logCovariance, removals, failures, shapeLower95 }
}
