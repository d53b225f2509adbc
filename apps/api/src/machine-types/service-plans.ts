import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes, ServicePlan, ServicePlanTask } from '@tapewarden/shared'
import { earliestToday } from '../use/local-day.js'
import type { Changing, Reading } from '../use/work.js'
import { getMachineType } from './machine-type-reads.js'
import { warehousesWithType } from './warehouses-with-type.js'

type Summary = Omit<ServicePlan, 'tasks'> & Record<string, unknown>
export type NewPlanTask = RouteBody<Routes['createServicePlan']>['tasks'][number]

const SELECT = `SELECT s.id, s.machine_type_id AS "machineTypeId", m.name AS "machineTypeName", s.plan_version AS "planVersion", s.valid_from AS "validFrom", s.note,
    p.name AS "createdByName", s.created_at AS "createdAt",
    (SELECT count(*)::int FROM plan_task t WHERE t.organisation_id = s.organisation_id AND t.service_plan_id = s.id) AS "taskCount",
    s.plan_version = max(s.plan_version) OVER (PARTITION BY s.machine_type_id) AS current
  FROM service_plan s JOIN machine_type m ON m.organisation_id = s.organisation_id AND m.id = s.machine_type_id
  LEFT JOIN person p ON p.organisation_id = s.organisation_id AND p.id = s.created_by
  WHERE s.organisation_id = $1`

export async function listServicePlans(reading: Reading, machineTypeId: string): Promise<RouteResult<Routes['listServicePlans']>> {
  await getMachineType(reading, machineTypeId)
  return { items: await reading.rows<Summary>(`${SELECT} AND s.machine_type_id = $2 ORDER BY s.plan_version DESC`, [machineTypeId]) }
}

export async function getServicePlan(reading: Reading, servicePlanId: string): Promise<ServicePlan> {
  const plan = await reading.one<Summary>(
    'service plan',
    `SELECT * FROM (${SELECT} AND s.machine_type_id = (SELECT machine_type_id FROM service_plan WHERE organisation_id = $1 AND id = $2)) plans WHERE id = $2`,
    [servicePlanId],
  )
  const tasks = await reading.rows<ServicePlanTask & Record<string, unknown>>(
    `SELECT t.id AS "planTaskId", t.service_task_id AS "serviceTaskId", k.key, t.position, t.name, c.key AS "componentKey", t.minutes, t.skill, t.reach,
       t.at_the_bench AS "atTheBench", t.safety_check AS "safetyCheck", t.uses_solvent AS "usesSolvent", t.overrun_counts AS "overrunCounts",
       t.triggers, t.steps, t.measurements, t.cautions, t.parts
     FROM plan_task t JOIN service_task k ON k.organisation_id = t.organisation_id AND k.id = t.service_task_id
     LEFT JOIN component_type c ON c.organisation_id = t.organisation_id AND c.id = t.component_type_id
     WHERE t.organisation_id = $1 AND t.service_plan_id = $2 ORDER BY t.position, t.id`,
    [servicePlanId],
  )
  return { ...plan, tasks }
}

const INSERT_TASKS = `INSERT INTO plan_task (organisation_id, id, service_plan_id, service_task_id, position, name, component_type_id, minutes, skill, reach,
    at_the_bench, safety_check, uses_solvent, overrun_counts, triggers, steps, measurements, cautions, parts)
  SELECT $1, r.id, $2, k.id, r.position, r.name, c.id, r.minutes, r.skill, r.reach, r."atTheBench", r."safetyCheck", r."usesSolvent", r."overrunCounts",
    r.triggers, r.steps, r.measurements, r.cautions, r.parts
  FROM jsonb_to_recordset($3::jsonb) AS r(id uuid, key text, position int, name text, "componentKey" text, minutes float8, skill text, reach text,
    "atTheBench" boolean, "safetyCheck" boolean, "usesSolvent" boolean, "overrunCounts" boolean,
    triggers jsonb, steps jsonb, measurements jsonb, cautions jsonb, parts jsonb)
  JOIN service_task k ON k.organisation_id = $1 AND k.machine_type_id = $4 AND k.key = r.key
  LEFT JOIN component_type c ON c.organisation_id = $1 AND c.key = r."componentKey"`

/** @returns the new version's id. A task that keeps its key keeps its id, so that its clocks carry over (rule 19). */
export async function insertPlan(
  changing: Changing,
  machineTypeId: string,
  plan: { tasks: readonly NewPlanTask[]; note: string; validFrom: string },
): Promise<string> {
  const id = newId()
  await changing.run(
    `INSERT INTO service_plan (organisation_id, id, machine_type_id, plan_version, valid_from, note, created_by, created_at)
     SELECT $1, $2, $3, COALESCE(max(plan_version), 0) + 1, $4, $5, $6, $7 FROM service_plan WHERE organisation_id = $1 AND machine_type_id = $3`,
    [id, machineTypeId, plan.validFrom, plan.note, changing.who.personId, changing.now],
  )
  await changing.run(
    `INSERT INTO service_task (organisation_id, id, machine_type_id, key)
     SELECT $1, r.id, $2, r.key FROM jsonb_to_recordset($3::jsonb) AS r(id uuid, key text) ON CONFLICT (organisation_id, machine_type_id, key) DO NOTHING`,
    [machineTypeId, JSON.stringify(plan.tasks.map((task) => ({ id: newId(), key: task.key })))],
  )
  await changing.run(INSERT_TASKS, [
    id,
    JSON.stringify(plan.tasks.map((task, position) => ({ id: newId(), position: position + 1, ...task }))),
    machineTypeId,
  ])
  return id
}

/** Steps and measurements must name each other, and components must be in the books. */
async function checkTasks(changing: Changing, tasks: readonly NewPlanTask[]): Promise<void> {
  const rows = await changing.rows<{ key: string }>(`SELECT key FROM component_type WHERE organisation_id = $1`)
  const components = new Set(rows.map((row) => row.key))
  const taskKeys = new Set(tasks.map((task) => task.key))
  for (const [index, task] of tasks.entries()) {
    const at = (what: string) => `/tasks/${index}/${what}`
    const named = [task.componentKey, ...task.parts.map((part) => part.componentKey)]
    const missing = named.find((key) => key !== null && !components.has(key))
    if (missing) throw new InvalidError('UNKNOWN_COMPONENT_TYPE', `There is no component type ${missing}.`, at('componentKey'))
    const keys = new Set(task.measurements.map((measurement) => measurement.key))
    if (task.steps.some((step) => step.answer === 'measurement' && !keys.has(step.measurementKey ?? '')))
      throw new InvalidError('UNKNOWN_MEASUREMENT', 'A step asks for a measurement that the task does not have.', at('steps'))
    if (task.steps.some((step) => step.answer === 'choice' && (step.choices ?? []).length < 2))
      throw new InvalidError('NO_CHOICES', 'A step of choices needs at least two.', at('steps'))
    if (task.measurements.some((measurement) => measurement.opensTaskKey !== undefined && !taskKeys.has(measurement.opensTaskKey)))
      throw new InvalidError('UNKNOWN_TASK', 'A measurement opens a task that the plan does not have.', at('measurements'))
  }
}

/** Two write at once: the second hears of the first, whose version would be gone without a word. */
async function checkHolds(changing: Changing, machineTypeId: string, afterVersion: number): Promise<void> {
  const newest = await changing.maybeOne<Summary>(`${SELECT} AND s.machine_type_id = $2 ORDER BY s.plan_version DESC LIMIT 1`, [
    machineTypeId,
  ])
  if (newest === null || newest.planVersion === afterVersion) return
  const by = newest.createdByName === null ? '' : ` by ${newest.createdByName}`
  throw new ConflictError('CHANGED_MEANWHILE', `Version ${newest.planVersion} of this plan was saved${by} while this one was written.`)
}

export async function createServicePlan(
  changing: Changing,
  machineTypeId: string,
  body: RouteBody<Routes['createServicePlan']>,
): Promise<ServicePlan> {
  await changing.rows(`SELECT id FROM machine_type WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [machineTypeId])
  await getMachineType(changing, machineTypeId)
  if (body.afterVersion !== undefined) await checkHolds(changing, machineTypeId, body.afterVersion)
  await checkTasks(changing, body.tasks)
  const id = await insertPlan(changing, machineTypeId, { ...body, validFrom: body.validFrom ?? (await earliestToday(changing)) })
  const after = await getServicePlan(changing, id)
  changing.note({ action: 'create', subjectKind: 'service plan', subjectId: id, after })
  changing.datesMayMove(...(await warehousesWithType(changing, machineTypeId)))
  return after
}
