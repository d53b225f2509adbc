/** Who changed what, newest first: of everything, of one thing, or of one machine with all that belongs to it. */
import type { RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import { placeOf } from '../use/reach.js'
import type { Reading } from '../use/work.js'

type Entry = RouteResult<Routes['listAudit']>['items'][number] & Record<string, unknown>

/** Kind and id of what belongs to machine $7. */
const OF_MACHINE = `SELECT 'machine' AS kind, $7::uuid AS id
  UNION ALL SELECT 'occurrence', id FROM occurrence WHERE organisation_id = $1 AND machine_id = $7
  UNION ALL SELECT 'work order', id FROM work_order WHERE organisation_id = $1 AND machine_id = $7
  UNION ALL SELECT 'stoppage', id FROM stoppage WHERE organisation_id = $1 AND machine_id = $7
  UNION ALL SELECT 'evidence', id FROM evidence WHERE organisation_id = $1 AND machine_id = $7
  UNION ALL SELECT 'service record', id FROM service_record WHERE organisation_id = $1 AND machine_id = $7
  UNION ALL SELECT 'component', component_id FROM component_placement WHERE organisation_id = $1 AND machine_id = $7`

/** What is changed is named as it is called now. */
const NAME = `CASE e.subject_kind
  WHEN 'machine' THEN (SELECT label_code FROM machine x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'work order' THEN (SELECT x.number || ', ' || m.label_code FROM work_order x JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'stoppage' THEN (SELECT m.label_code FROM stoppage x JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'evidence' THEN (SELECT m.label_code FROM evidence x JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'occurrence' THEN (SELECT pt.name || ', ' || m.label_code FROM occurrence x JOIN plan_task pt ON pt.organisation_id = $1 AND pt.id = x.plan_task_id
    JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'service record' THEN (SELECT m.label_code FROM service_record x JOIN machine m ON m.organisation_id = $1 AND m.id = x.machine_id WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'machine type' THEN (SELECT name FROM machine_type x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'part' THEN (SELECT name FROM part x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'person' THEN (SELECT name FROM person x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'warehouse' THEN (SELECT name FROM warehouse x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'station' THEN (SELECT name FROM station x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'import' THEN (SELECT file_name FROM import x WHERE x.organisation_id = $1 AND x.id = e.subject_id)
  WHEN 'visit' THEN (SELECT visit_on::text FROM visit x WHERE x.organisation_id = $1 AND x.id = e.subject_id) END`

export async function listAudit(reading: Reading, query: RouteQuery<Routes['listAudit']>): Promise<RouteResult<Routes['listAudit']>> {
  const after = readCursor(query.cursor, ['instant', 'id'])
  if (query.machineId !== undefined) await placeOf(reading, query.machineId)
  const rows = await reading.rows<Entry>(
    `SELECT e.id, e.at, e.actor, e.action, e.subject_kind AS "subjectKind", e.subject_id AS "subjectId", ${NAME} AS "subjectName", e.before, e.after, e.request_id AS "requestId"
     FROM audit_entry e WHERE e.organisation_id = $1 AND ($2::text IS NULL OR e.subject_kind = $2) AND ($3::uuid IS NULL OR e.subject_id = $3)
       AND ($4::timestamptz IS NULL OR (date_trunc('milliseconds', e.at), e.id) < ($4, $5::uuid))
       ${query.machineId === undefined ? 'AND $7::uuid IS NULL' : `AND (e.subject_kind, e.subject_id) IN (${OF_MACHINE})`}
     ORDER BY date_trunc('milliseconds', e.at) DESC, e.id DESC LIMIT $6`,
    [query.subjectKind ?? null, query.subjectId ?? null, after?.[0] ?? null, after?.[1] ?? null, query.limit + 1, query.machineId ?? null],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.at, row.id],
    (row) => row,
  )
}
