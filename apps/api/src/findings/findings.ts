/** What was seen at a machine beside the work asked for: written down, given to a task, or dealt with by a person. */
import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { Finding, RouteBody, RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { addDays, localDateOf } from '../use/local-day.js'
import { pageOf, readCursor } from '../use/paging.js'
import { placeOf } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'

type FindingRow = Finding & Record<string, unknown>
const FIELDS = `f.id, f.found_on AS "foundOn", b.name AS "foundByName", f.due_on AS "dueOn", f.within_days AS "withinDays", f.text, f.safety,
    f.service_task_id AS "serviceTaskId", n.name AS "taskName", CASE WHEN o.id IS NOT NULL THEN jsonb_build_object('id', o.id, 'number', o.number) END AS "workOrder",
    f.settled_on AS "settledOn", s.name AS "settledByName", f.settled_note AS "settledNote"`
const JOINS = `LEFT JOIN LATERAL (SELECT pt.name FROM plan_task pt JOIN service_plan s ON s.organisation_id = pt.organisation_id AND s.id = pt.service_plan_id
    WHERE pt.organisation_id = f.organisation_id AND pt.service_task_id = f.service_task_id ORDER BY s.plan_version DESC LIMIT 1) n ON true
  LEFT JOIN person b ON b.organisation_id = f.organisation_id AND b.id = f.found_by_person_id
  LEFT JOIN person s ON s.organisation_id = f.organisation_id AND s.id = f.settled_by_person_id
  LEFT JOIN work_order o ON o.organisation_id = f.organisation_id AND o.id = f.work_order_id`
const ONE = `SELECT ${FIELDS} FROM finding f ${JOINS} WHERE f.organisation_id = $1`

/** Open ones first, each part newest first. */
export async function machineFindings(
  reading: Reading,
  machineId: string,
  query: RouteQuery<Routes['machineFindings']>,
): Promise<RouteResult<Routes['machineFindings']>> {
  const after = readCursor(query.cursor, ['number', 'day', 'id'])
  await placeOf(reading, machineId)
  const rows = await reading.rows<FindingRow>(
    `${ONE} AND f.machine_id = $2 AND ($3::int IS NULL OR (num_nonnulls(f.settled_on), $4, $5::uuid) > ($3, f.found_on, f.id))
     ORDER BY num_nonnulls(f.settled_on), f.found_on DESC, f.id DESC LIMIT $6`,
    [machineId, after?.[0] ?? null, after?.[1] ?? null, after?.[2] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.settledOn === null ? 0 : 1, row.foundOn, row.id],
    (row) => row,
  )
}

/** Without this, what no task answers would be read by nobody. Grave ones first, then what has waited longest. */
export const WAITS_FOR_A_PERSON = `f.settled_on IS NULL AND f.service_task_id IS NULL`

type WaitingRow = FindingRow & { machine: { id: string; labelCode: string }; warehouse: { id: string; name: string } }

export async function listFindings(
  reading: Reading,
  query: RouteQuery<Routes['listFindings']>,
): Promise<RouteResult<Routes['listFindings']>> {
  const after = readCursor(query.cursor, ['number', 'day', 'id'])
  const rows = await reading.rows<WaitingRow>(
    `SELECT ${FIELDS}, jsonb_build_object('id', m.id, 'labelCode', m.label_code) AS machine, jsonb_build_object('id', w.id, 'name', w.name) AS warehouse
     FROM finding f JOIN machine m ON m.organisation_id = f.organisation_id AND m.id = f.machine_id
     JOIN placement p ON p.organisation_id = f.organisation_id AND p.machine_id = f.machine_id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id ${JOINS}
     WHERE f.organisation_id = $1 AND ${WAITS_FOR_A_PERSON} AND ($2::uuid[] IS NULL OR w.id = ANY($2)) AND ($3::uuid IS NULL OR w.id = $3)
       AND ($4::int IS NULL OR (CASE WHEN f.safety THEN 0 ELSE 1 END, f.found_on, f.id) > ($4, $5, $6::uuid))
     ORDER BY CASE WHEN f.safety THEN 0 ELSE 1 END, f.found_on, f.id LIMIT $7`,
    [reading.who.warehouseIds, query.warehouseId ?? null, after?.[0] ?? null, after?.[1] ?? null, after?.[2] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.safety ? 0 : 1, row.foundOn, row.id],
    (row) => row,
  )
}

export interface NewFinding {
  id?: string | undefined
  text: string
  taskKey?: string | undefined
  withinDays?: number | undefined
  safety: boolean
  workOrderId?: string
  foundOn: string
  componentId?: string | null
}

/** @returns its id */
export async function insertFinding(
  changing: Changing,
  machineId: string,
  machineTypeId: string,
  finding: NewFinding,
  pointer: string,
): Promise<string> {
  const task =
    finding.taskKey === undefined
      ? null
      : await changing.maybeOne<{ id: string }>(
          `SELECT id FROM service_task WHERE organisation_id = $1 AND machine_type_id = $2 AND key = $3`,
          [machineTypeId, finding.taskKey],
        )
  if (finding.taskKey !== undefined && !task)
    throw new InvalidError('UNKNOWN_TASK', 'The plan of this machine type has no such task.', pointer)
  const id = finding.id ?? newId()
  await changing.run(
    `INSERT INTO finding (organisation_id, id, machine_id, component_id, work_order_id, service_task_id, found_on, within_days, due_on, text, safety, created_at, found_by_person_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
    [
      id,
      machineId,
      finding.componentId ?? null,
      finding.workOrderId ?? null,
      task?.id ?? null,
      finding.foundOn,
      finding.withinDays ?? null,
      finding.withinDays === undefined ? null : addDays(finding.foundOn, finding.withinDays),
      finding.text,
      finding.safety,
      changing.now,
      changing.who.personId,
    ],
  )
  return id
}

const readOne = (reading: Reading, id: string): Promise<Finding> => reading.one<FindingRow>('finding', `${ONE} AND f.id = $2`, [id])

export async function reportFinding(changing: Changing, machineId: string, body: RouteBody<Routes['reportFinding']>): Promise<Finding> {
  const place = await placeOf(changing, machineId)
  const foundOn = localDateOf(changing.now, place.zone ?? 'UTC')
  const id = await insertFinding(changing, machineId, place.machineTypeId, { ...body, foundOn }, '/taskKey')
  const after = await readOne(changing, id)
  changing.note({ action: 'report finding', subjectKind: 'machine', subjectId: machineId, after })
  changing.datesMayMove(place.warehouseId)
  return after
}

/** Changes one that nobody has settled yet. Its machine is locked first, as everything that touches a machine does. */
async function decide(
  changing: Changing,
  findingId: string,
  action: string,
  work: (at: { today: string; machineTypeId: string }) => Promise<unknown>,
): Promise<Finding> {
  const { machineId } = await changing.one<{ machineId: string }>(
    'finding',
    `SELECT machine_id AS "machineId" FROM finding WHERE organisation_id = $1 AND id = $2`,
    [findingId],
  )
  const place = await placeOf(changing, machineId, true)
  const before = await readOne(changing, findingId)
  if (before.settledOn !== null)
    throw new ConflictError('SETTLED_ALREADY', `This was settled on ${before.settledOn} already. Read the page again.`)
  await work({ today: localDateOf(changing.now, place.zone ?? 'UTC'), machineTypeId: place.machineTypeId })
  const after = await readOne(changing, findingId)
  changing.note({ action, subjectKind: 'machine', subjectId: machineId, before, after })
  changing.datesMayMove(place.warehouseId)
  return after
}

export const settleFinding = (changing: Changing, findingId: string, { note }: RouteBody<Routes['settleFinding']>): Promise<Finding> =>
  decide(changing, findingId, 'settle finding', ({ today }) =>
    changing.run(
      `UPDATE finding SET settled_on = $3, settled_by_person_id = $4, settled_note = $5 WHERE organisation_id = $1 AND id = $2`,
      [findingId, today, changing.who.personId, note],
    ),
  )

export const giveFinding = (changing: Changing, findingId: string, body: RouteBody<Routes['giveFinding']>): Promise<Finding> =>
  decide(changing, findingId, 'give finding to a task', async ({ today, machineTypeId }) => {
    const given = await changing.run(
      `UPDATE finding SET service_task_id = $3, within_days = $4, due_on = $5 WHERE organisation_id = $1 AND id = $2
         AND EXISTS (SELECT 1 FROM service_task k WHERE k.organisation_id = $1 AND k.id = $3 AND k.machine_type_id = $6)`,
      [
        findingId,
        body.serviceTaskId,
        body.withinDays ?? null,
        body.withinDays === undefined ? null : addDays(today, body.withinDays),
        machineTypeId,
      ],
    )
    if (given === 0) throw new InvalidError('UNKNOWN_TASK', 'The plan of this machine type has no such task.', '/serviceTaskId')
  })
