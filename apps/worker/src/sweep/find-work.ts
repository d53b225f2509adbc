import { localMoment } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence/sql'
import type { JobToAdd } from '@tapewarden/queues'
import { type ComposingWarehouse, HOURS_COLUMNS } from '../composing/rows.js'

interface WarehouseRow extends ComposingWarehouse, Record<string, unknown> {
  id: string
  behind: boolean
  firstSayOn: string | null
  uncertainDay: string | null
  unheard: boolean
  untold: boolean
  /** Local day on which it was last worked out what to order; parts that nobody has been told of. */
  partsLookedOn: string | null
  partsUntold: boolean
  /** Local day on which it was last looked back how good the dates have been. */
  datesScoredOn: string | null
}

const WAREHOUSES = `
  SELECT w.id, ${HOURS_COLUMNS}, w.dates_scored_on::text AS "datesScoredOn", w.planned_version < w.evidence_version AS behind,
    (SELECT min(r.say_on) FROM reminder r WHERE r.organisation_id = $1 AND r.warehouse_id = w.id AND r.message_id IS NULL AND r.dropped_reason IS NULL) AS "firstSayOn",
    (SELECT min(m.local_day) FROM message m WHERE m.organisation_id = $1 AND m.warehouse_id = w.id AND m.state = 'uncertain' AND m.folded_into_id IS NULL) AS "uncertainDay",
    EXISTS (SELECT 1 FROM person p WHERE p.organisation_id = $1 AND p.id IN (w.first_person_id, w.second_person_id) AND lower(p.email) = lower(p.mail_refused_address)
      AND NOT EXISTS (SELECT 1 FROM message m WHERE m.organisation_id = $1 AND m.warehouse_id = w.id AND m.class = 'urgent' AND m.class_key = 'hand_over ' || p.id
        AND m.state IN ('pending', 'claimed', 'handing_over', 'sent', 'uncertain'))) AS unheard,
    EXISTS (SELECT 1 FROM work_order x WHERE x.organisation_id = $1 AND x.warehouse_id = w.id AND x.state = 'issued' AND x.technician_id IS NOT NULL AND x.told_message_id IS NULL) AS untold,
    CASE WHEN EXISTS (SELECT 1 FROM part WHERE organisation_id = $1 AND in_books) THEN COALESCE(w.parts_looked_on::text, '') END AS "partsLookedOn",
    EXISTS (SELECT 1 FROM part_told x WHERE x.organisation_id = $1 AND x.warehouse_id = w.id AND x.message_id IS NULL) AS "partsUntold"
  FROM warehouse w WHERE w.organisation_id = $1 ORDER BY w.id`

const DUE_MESSAGES = `
  SELECT id FROM message WHERE organisation_id = $1 AND state = 'pending' AND send_after <= $2 AND expires_at > $2 ORDER BY send_after LIMIT 5000`

/**
 * Everything that is due by the database's clock, as jobs. The key carries a slot of time: while the queue keeps the
 * earlier job, the same work is not put twice; a job that the queue lost comes again in the next slot.
 */
export async function findWork(scope: PgScope, now: Date, slot: string): Promise<JobToAdd[]> {
  const { organisationId } = scope
  const jobs: JobToAdd[] = []
  for (const warehouse of await scope.rows<WarehouseRow>(WAREHOUSES, [organisationId])) {
    const { today, minutesOpen } = localMoment(warehouse, now)
    const input = { organisationId, warehouseId: warehouse.id }
    const options = { key: `${warehouse.id}-${slot}` }
    if (warehouse.behind || (warehouse.plannedOn ?? '') < today) jobs.push({ name: 'plan_warehouse', input, options })
    else if ((warehouse.datesScoredOn ?? '') < today) jobs.push({ name: 'score_dates', input, options })
    const toSay = warehouse.firstSayOn !== null && warehouse.firstSayOn <= today
    const toFold = warehouse.uncertainDay !== null && warehouse.uncertainDay < today
    const toOrder = warehouse.partsUntold || (warehouse.partsLookedOn !== null && warehouse.partsLookedOn < today)
    if (minutesOpen !== null && (toSay || toFold || toOrder || warehouse.unheard || warehouse.untold))
      jobs.push({ name: 'compose_messages', input, options })
  }
  for (const { id } of await scope.rows<{ id: string }>(DUE_MESSAGES, [organisationId, now]))
    jobs.push({ name: 'send_message', input: { organisationId, messageId: id }, options: { key: `${id}-${slot}` } })
  return jobs
}
