import { type PartRow, YEARS_OF_USE_OF_PART, yearsOfUse } from '@tapewarden/persistence'
import { USED_STRIPS } from '../../machines/components.js'
import type { Reading } from '../../use/work.js'

export interface LifeRow extends PartRow {
  componentId: string
  machineId: string
  labelCode: string
  machineTypeId: string
  typeName: string
  /** Where its machine stands, or stood last. */
  warehouseId: string | null
  zone: string | null
  /** As the machine's page says it. */
  strips: number
  /** Strips it had done when it came under observation. */
  stripsAtEntry: number
  /** The ledger reaches over the whole of its time in machines. */
  useKnown: boolean
}

const MONTH = (date: string) => `(EXTRACT(year FROM ${date}) * 12 + EXTRACT(month FROM ${date}))::int`
/** No COALESCE: see `USED_STRIPS`. */
const END = `CASE WHEN cp.to_date IS NULL THEN $3::date ELSE cp.to_date END`
const totalOn = (day: string) =>
  `COALESCE((SELECT l.strips_total FROM ledger_day l WHERE l.organisation_id = cp.organisation_id AND l.machine_id = cp.machine_id AND l.day <= ${day} ORDER BY l.day DESC LIMIT 1), 0)`

/**
 * Whole months of a placement of which the ledger holds nothing, those out of service aside; null: its first day is not known.
 * planning_state holds the months of which the ledger has rows.
 */
const MONTHS_MISSING = `CASE WHEN cp.from_date IS NULL THEN NULL ELSE
    GREATEST(0, ${MONTH(END)} - ${MONTH('cp.from_date')} - 1)
    - (SELECT count(*) FROM jsonb_object_keys(COALESCE(ps.ledger_months, '{}')) AS k WHERE k > to_char(cp.from_date, 'YYYY-MM') AND k < to_char(${END}, 'YYYY-MM'))
    - COALESCE((SELECT sum(GREATEST(0, ${MONTH(`LEAST(${END}, COALESCE(x.to_at::date, ${END}))`)} - ${MONTH('GREATEST(cp.from_date, x.from_at::date)')} - 1)) FROM machine_status_period x
        WHERE x.organisation_id = cp.organisation_id AND x.machine_id = cp.machine_id AND x.status <> 'in_service'), 0) END`
/** A placement of less than a whole month is known where the ledger holds one of its months. */
const TOUCHED = `(COALESCE(ps.ledger_months, '{}') ?| ARRAY[to_char(cp.from_date, 'YYYY-MM'), to_char(cp.from_date + 31, 'YYYY-MM')])`

const ROWS = `
  WITH spans AS (
    SELECT cp.component_id, cp.machine_id, cp.from_date, cp.to_date, cp.removal_reason, m.registered_on,
      ${USED_STRIPS} AS strips, COALESCE((${MONTHS_MISSING}) <= 0 AND ${TOUCHED}, false) AS known,
      cp.used_strips_before + CASE WHEN cp.from_date < m.registered_on
        THEN GREATEST(0, ${totalOn(`LEAST(${END}, m.registered_on)`)} - ${totalOn('cp.from_date')}) ELSE 0 END AS at_entry,${yearsOfUse('$3::date')}
    FROM component_placement cp
    JOIN component c ON c.organisation_id = cp.organisation_id AND c.id = cp.component_id AND c.counts_in_life_data
    JOIN component_type t ON t.organisation_id = c.organisation_id AND t.id = c.component_type_id AND t.key = $2
    JOIN machine m ON m.organisation_id = cp.organisation_id AND m.id = cp.machine_id
    JOIN machine_type mt ON mt.organisation_id = m.organisation_id AND mt.id = m.machine_type_id
    LEFT JOIN planning_state ps ON ps.organisation_id = cp.organisation_id AND ps.machine_id = cp.machine_id
    WHERE cp.organisation_id = $1
  ), parts AS (
    SELECT component_id, min(registered_on) AS registered_on, CASE WHEN bool_or(to_date IS NULL) THEN NULL ELSE max(to_date) END AS removed_on,
      (array_agg(removal_reason ORDER BY to_date DESC NULLS FIRST))[1] AS reason,
      (array_agg(machine_id ORDER BY to_date DESC NULLS FIRST))[1] AS machine_id,
      (array_agg(strips ORDER BY to_date DESC NULLS FIRST))[1] AS strips,
      (array_agg(at_entry ORDER BY from_date NULLS FIRST))[1] AS at_entry,
      bool_and(known) AS known,${YEARS_OF_USE_OF_PART}
    FROM spans GROUP BY component_id
  )
  SELECT $2::text AS key, c.new_on, x.registered_on, x.removed_on, x.reason, c.id AS "componentId", m.id AS "machineId", m.label_code AS "labelCode",
    mt.id AS "machineTypeId", mt.name AS "typeName", p.warehouse_id AS "warehouseId", w.zone, x.strips, x.at_entry AS "stripsAtEntry", x.known AS "useKnown",
    x.years_of_use, x.years_of_use_at_entry
  FROM parts x JOIN component c ON c.organisation_id = $1 AND c.id = x.component_id
  JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id
  JOIN machine_type mt ON mt.organisation_id = $1 AND mt.id = m.machine_type_id
  LEFT JOIN LATERAL (SELECT y.warehouse_id FROM placement y WHERE y.organisation_id = $1 AND y.machine_id = m.id ORDER BY y.to_at DESC NULLS FIRST, y.from_at DESC LIMIT 1) p ON true
  LEFT JOIN warehouse w ON w.organisation_id = $1 AND w.id = p.warehouse_id
  ORDER BY c.new_on, x.removed_on, x.registered_on, x.reason, c.id`

/** Every part of a kind that counts in life data, in machines or out of them, as the planning pass reads them, and their strips. */
export function lifeRows(reading: Reading, componentKey: string, today: string): Promise<LifeRow[]> {
  return reading.rows<LifeRow>(ROWS, [componentKey, today])
}

/** Kinds of parts of which any counts in life data. */
export function kindsOnRecord(reading: Reading): Promise<{ key: string; name: string }[]> {
  return reading.rows<{ key: string; name: string }>(
    `SELECT t.key, t.name FROM component_type t WHERE t.organisation_id = $1
       AND EXISTS (SELECT 1 FROM component c WHERE c.organisation_id = $1 AND c.component_type_id = t.id AND c.counts_in_life_data) ORDER BY t.name, t.id`,
  )
}
