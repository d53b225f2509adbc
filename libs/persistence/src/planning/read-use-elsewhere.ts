import type { UseElsewhere } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'

/** So many machines of a type tell what the type does in a warehouse; more would cost and hardly say more. */
const ENOUGH = 40
/** Twelve weeks: every weekday as often, and what it was half a year ago does not count. */
const SPAN_DAYS = 84

/**
 * Strips a day on which some were cut, outside stated peaks, from the ledgers as the last passes there left them. Words of
 * the month are left out: they were made strips by what is stated, which is what is to be learnt here.
 */
const LEVELS = `
  WITH standing AS (
    SELECT p.warehouse_id, m.machine_type_id, m.id, row_number() OVER (PARTITION BY p.warehouse_id, m.machine_type_id ORDER BY m.id) AS place
    FROM placement p JOIN machine m ON m.organisation_id = $1 AND m.id = p.machine_id AND m.status = 'in_service'
    WHERE p.organisation_id = $1 AND p.to_at IS NULL AND p.warehouse_id <> $2)
  SELECT s.machine_type_id AS "machineTypeId", avg(ln(u.level)) AS "logMean", stddev_samp(ln(u.level)) AS "logSd", count(*)::int AS machines
  FROM standing s CROSS JOIN LATERAL (
    SELECT avg(l.strips) AS level FROM ledger_day l
    WHERE l.organisation_id = $1 AND l.machine_id = s.id AND l.day > $3::date - ${SPAN_DAYS} AND l.day <= $3::date AND l.warehouse_id = s.warehouse_id AND l.strips > 0 AND l.kind <> 'tap'
      AND NOT EXISTS (SELECT 1 FROM peak k WHERE k.organisation_id = $1 AND k.warehouse_id = l.warehouse_id AND l.day BETWEEN k.from_date AND k.to_date)) u
  WHERE s.place <= ${ENOUGH} AND u.level > 0
  GROUP BY s.warehouse_id, s.machine_type_id ORDER BY s.machine_type_id, s.warehouse_id`

/** One a warehouse and type, of all warehouses but this one. */
export function readUseElsewhere(scope: PgScope, warehouseId: string, today: string): Promise<UseElsewhere[]> {
  return scope.rows<UseElsewhere & Record<string, unknown>>(LEVELS, [scope.organisationId, warehouseId, today])
}
