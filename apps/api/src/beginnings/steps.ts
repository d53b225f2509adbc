import type { Beginning } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { requireWarehouse } from '../use/reach.js'
import type { Reading } from '../use/work.js'

interface Row extends Record<string, unknown> {
  id: string
  name: string
  zone: string
  upToDate: boolean
  machineIds: string[]
  atStation: number
  labelled: number
  first: Beginning['first']
  second: Beginning['second']
}

const STEPS = `SELECT w.id, w.name, w.zone, w.planned_version >= w.evidence_version AS "upToDate",
    COALESCE(x.ids, '{}') AS "machineIds", COALESCE(x.at_station, 0) AS "atStation", COALESCE(x.labelled, 0) AS labelled,
    (SELECT jsonb_build_object('name', p.name, 'email', p.email) FROM person p WHERE p.organisation_id = $1 AND p.id = w.first_person_id) AS first,
    (SELECT jsonb_build_object('name', p.name, 'email', p.email) FROM person p WHERE p.organisation_id = $1 AND p.id = w.second_person_id) AS second
  FROM warehouse w
  LEFT JOIN LATERAL (SELECT array_agg(m.id::text ORDER BY m.label_code) AS ids, count(p.station_id)::int AS at_station, count(l.token)::int AS labelled
    FROM placement p JOIN machine m ON m.organisation_id = $1 AND m.id = p.machine_id AND m.status <> 'retired'
    LEFT JOIN machine_label l ON l.organisation_id = $1 AND l.machine_id = m.id AND l.cancelled_at IS NULL
    WHERE p.organisation_id = $1 AND p.warehouse_id = w.id AND p.to_at IS NULL) x ON true
  WHERE w.organisation_id = $1 AND w.id = $2`

/** Small outside care that is looked at for the first time: what is open, and what its forecast dates. */
const WALK = `SELECT count(DISTINCT d.machine_id)::int AS machines, min(d.on_day)::text AS "firstOn", max(d.on_day)::text AS "lastOn",
    count(DISTINCT d.machine_id) FILTER (WHERE d.open)::int AS "openNow"
  FROM (SELECT f.machine_id, COALESCE(o.due_on, f.likely_on) AS on_day, o.id IS NOT NULL AND o.opened_on <= $3::date AS open
    FROM forecast f JOIN plan_task t ON t.organisation_id = $1 AND t.id = f.plan_task_id
    LEFT JOIN occurrence o ON o.organisation_id = $1 AND o.machine_id = f.machine_id AND o.service_task_id = f.service_task_id AND o.state = 'open'
    WHERE f.organisation_id = $1 AND f.warehouse_id = $2 AND t.reach = 'outside' AND t.skill = 'instructed') d WHERE d.on_day IS NOT NULL`

const TEST_MAILS = `SELECT DISTINCT ON (m.person_id) m.id AS "messageId", p.name AS "personName", COALESCE(m.to_address, p.email, '') AS address, m.state,
    m.sent_at AS "sentAt", m.last_error AS "lastError"
  FROM message m JOIN person p ON p.organisation_id = $1 AND p.id = m.person_id
  WHERE m.organisation_id = $1 AND m.warehouse_id = $2 AND m.class_key LIKE 'test %' ORDER BY m.person_id, m.created_at DESC, m.id DESC`

/** What a test mail of this warehouse has become, the newest a person. */
export function testMailsOf(reading: Reading, warehouseId: string): Promise<Beginning['testMails']> {
  return reading.rows<Beginning['testMails'][number] & Record<string, unknown>>(TEST_MAILS, [warehouseId])
}

export async function getBeginning(reading: Reading, warehouseId: string): Promise<Beginning> {
  requireWarehouse(reading.who, warehouseId)
  const { id, name, zone, ...steps } = await reading.one<Row>('warehouse', STEPS, [warehouseId])
  const today = localDateOf(reading.now, zone)
  const walk = await reading.one<Beginning['walk'] & Record<string, unknown>>('warehouse', WALK, [warehouseId, today])
  return { ...steps, warehouse: { id, name, zone, today }, walk, testMails: await testMailsOf(reading, warehouseId) }
}
