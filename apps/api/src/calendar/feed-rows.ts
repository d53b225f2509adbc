import type { FeedCare, FeedInput, FeedRound, FeedVisit } from '@tapewarden/messaging'
import type { PgScope } from '@tapewarden/persistence'
import type { Units } from '@tapewarden/shared'

export interface FeedOwner {
  warehouseId: string
  warehouseName: string
  zone: string
  language: string
  units: Units
}

/** Ended occurrences stay this long, so that every calendar program that asks now and then hears of it. */
const SHOWN_AFTER_END_DAYS = 60

/** null: ended, or its person may no longer see the warehouse. */
export async function readFeedOwner(scope: PgScope, feedId: string): Promise<FeedOwner | null> {
  const rows = await scope.rows<FeedOwner & Record<string, unknown>>(
    `SELECT w.id AS "warehouseId", w.name AS "warehouseName", w.zone, p.language, p.units
     FROM calendar_feed f JOIN person p ON p.organisation_id = $1 AND p.id = f.person_id AND p.disabled_at IS NULL
     JOIN warehouse w ON w.organisation_id = $1 AND w.id = f.warehouse_id
     WHERE f.organisation_id = $1 AND f.id = $2 AND f.revoked_at IS NULL AND (p.role IN ('administrator', 'manager')
       OR p.role = 'technician' AND EXISTS (SELECT 1 FROM person_warehouse x WHERE x.organisation_id = $1 AND x.person_id = p.id AND x.warehouse_id = w.id))`,
    [scope.organisationId, feedId],
  )
  return rows[0] ?? null
}

export async function readFeedCare(scope: PgScope, warehouseId: string, today: string): Promise<FeedCare[]> {
  return scope.rows<FeedCare & Record<string, unknown>>(
    `SELECT o.id AS "occurrenceId", o.calendar_sequence AS sequence, COALESCE(o.calendar_changed_at, o.created_at) AS "changedAt", o.state, o.due_on AS "dueOn",
       k.label_code AS "labelCode", s.name AS "stationName", t.name AS "taskName"
     FROM occurrence o JOIN machine k ON k.organisation_id = $1 AND k.id = o.machine_id
     JOIN plan_task t ON t.organisation_id = $1 AND t.id = o.plan_task_id
     LEFT JOIN placement l ON l.organisation_id = $1 AND l.machine_id = o.machine_id AND l.to_at IS NULL
     LEFT JOIN station s ON s.organisation_id = $1 AND s.id = l.station_id
     WHERE o.organisation_id = $1 AND o.warehouse_id = $2 AND o.kind <> 'monthly' AND (o.state = 'open' OR o.ended_on > $3::date - ${SHOWN_AFTER_END_DAYS})
     ORDER BY o.due_on, o.id`,
    [scope.organisationId, warehouseId, today],
  )
}

export async function readFeedRounds(scope: PgScope, warehouseId: string, today: string): Promise<FeedRound[]> {
  return scope.rows<FeedRound & Record<string, unknown>>(
    `SELECT to_char(o.opened_on, 'YYYY-MM') AS month, sum(o.calendar_sequence + 1)::int AS sequence, max(COALESCE(o.calendar_changed_at, o.created_at)) AS "changedAt",
       max(o.due_on) AS "dueOn", count(DISTINCT o.machine_id)::int AS machines,
       count(DISTINCT o.machine_id) FILTER (WHERE o.state = 'open')::int AS "openMachines",
       bool_and(o.state IN ('superseded', 'skipped') AND NOT o.counted_as_missed) AS cancelled
     FROM occurrence o
     WHERE o.organisation_id = $1 AND o.warehouse_id = $2 AND o.kind = 'monthly' AND o.opened_on > $3::date - ${SHOWN_AFTER_END_DAYS} - 31
     GROUP BY 1 ORDER BY 1`,
    [scope.organisationId, warehouseId, today],
  )
}

export async function readFeedVisits(scope: PgScope, warehouseId: string, today: string): Promise<FeedVisit[]> {
  return scope.rows<FeedVisit & Record<string, unknown>>(
    `SELECT v.id AS "visitId", v.calendar_sequence AS sequence, v.calendar_changed_at AS "changedAt", v.visit_on AS "on", p.name AS technician,
       count(x.id)::int AS orders, count(x.id) FILTER (WHERE x.state IN ('done', 'looked_over'))::int AS done
     FROM visit v LEFT JOIN person p ON p.organisation_id = $1 AND p.id = v.technician_id
     LEFT JOIN work_order x ON x.organisation_id = $1 AND x.visit_id = v.id AND x.state <> 'cancelled'
     WHERE v.organisation_id = $1 AND v.warehouse_id = $2 AND v.visit_on > $3::date - ${SHOWN_AFTER_END_DAYS}
     GROUP BY v.organisation_id, v.id, p.name ORDER BY v.visit_on, v.id`,
    [scope.organisationId, warehouseId, today],
  )
}

export async function readFeed(scope: PgScope, owner: FeedOwner, today: string, deskUrl: string): Promise<FeedInput> {
  return {
    person: { language: owner.language, units: owner.units },
    warehouse: { id: owner.warehouseId, name: owner.warehouseName },
    today,
    care: await readFeedCare(scope, owner.warehouseId, today),
    rounds: await readFeedRounds(scope, owner.warehouseId, today),
    visits: await readFeedVisits(scope, owner.warehouseId, today),
    deskUrl,
  }
}
