import { InvalidError, newId } from '@tapewarden/platform'
import type { PlanTypeFacts } from '@tapewarden/scheduling'
import type { ComponentType, MachineType, RouteBody, Routes } from '@tapewarden/shared'
import { todayWhereItIsEarliest } from '../use/local-day.js'
import { assignments, insertion, requireVersion } from '../use/patch.js'
import type { Changing } from '../use/work.js'
import { componentName, defaultComponentKeys, defaultPlanTasks } from './default-plan.js'
import { getMachineType, MACHINE_TYPE_COLUMNS } from './machine-type-reads.js'
import { insertPlan } from './service-plans.js'
import { warehousesWithType } from './warehouses-with-type.js'

/** Note of a plan version that the product wrote itself. */
const DEFAULT_PLAN_NOTE = 'Default plan'

export async function createComponentType(changing: Changing, body: RouteBody<Routes['createComponentType']>): Promise<ComponentType> {
  const id = newId()
  await changing.run(`INSERT INTO component_type (organisation_id, id, key, name) VALUES ($1, $2, $3, $4)`, [id, body.key, body.name])
  changing.note({ action: 'create', subjectKind: 'component type', subjectId: id, after: body })
  return { id, ...body }
}

/** Component types of the product come into the books when first used. */
async function ensureComponentTypes(changing: Changing, keys: readonly string[]): Promise<void> {
  const known = keys.flatMap((key) => {
    const name = componentName(key)
    return name ? [{ id: newId(), key, name }] : []
  })
  await changing.run(
    `INSERT INTO component_type (organisation_id, id, key, name)
     SELECT $1, r.id, r.key, r.name FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, key text, name text)
     ON CONFLICT (organisation_id, key) DO NOTHING`,
    [JSON.stringify(known)],
  )
}

async function putComponents(changing: Changing, machineTypeId: string, keys: readonly string[]): Promise<void> {
  await ensureComponentTypes(changing, keys)
  await changing.run(`DELETE FROM machine_type_component WHERE organisation_id = $1 AND machine_type_id = $2`, [machineTypeId])
  const added = await changing.run(
    `INSERT INTO machine_type_component (organisation_id, machine_type_id, component_type_id)
     SELECT organisation_id, $2, id FROM component_type WHERE organisation_id = $1 AND key = ANY($3::text[])`,
    [machineTypeId, keys],
  )
  if (added !== new Set(keys).size)
    throw new InvalidError('UNKNOWN_COMPONENT_TYPE', 'One of these component types is not in the books.', '/componentKeys')
}

function checkBrushLimits(type: { brushNewMm?: number | null; brushPlanLimitMm?: number | null; brushNeverBelowMm?: number | null }): void {
  const { brushNewMm: fresh, brushPlanLimitMm: plan, brushNeverBelowMm: never } = type
  if (fresh && plan && fresh <= plan)
    throw new InvalidError('LIMITS_CROSS', 'A new brush must be longer than the plan limit.', '/brushPlanLimitMm')
  if (plan && never && plan <= never)
    throw new InvalidError('LIMITS_CROSS', 'The plan limit must lie above the never-below limit.', '/brushNeverBelowMm')
}

export async function createMachineType(changing: Changing, body: RouteBody<Routes['createMachineType']>): Promise<MachineType> {
  checkBrushLimits(body)
  const id = body.id ?? newId()
  const { names, places, values } = insertion(MACHINE_TYPE_COLUMNS, body, 4)
  await changing.run(`INSERT INTO machine_type (organisation_id, id, created_at${names}) VALUES ($1, $2, $3${places})`, [
    id,
    changing.now,
    ...values,
  ])
  await putComponents(changing, id, body.componentKeys ?? defaultComponentKeys(body))
  if (body.plan === 'default') {
    const tasks = defaultPlanTasks({ ...body, feltBehindCover: body.feltBehindCover ?? false })
    await ensureComponentTypes(changing, [...new Set(tasks.flatMap((task) => (task.componentKey ? [task.componentKey] : [])))])
    await insertPlan(changing, id, { tasks, note: DEFAULT_PLAN_NOTE, validFrom: todayWhereItIsEarliest(changing.now) })
  }
  const after = await getMachineType(changing, id)
  changing.note({ action: 'create', subjectKind: 'machine type', subjectId: id, after })
  return after
}

/** A fact that somebody states is assumed no longer. */
function stillAssumed(before: MachineType, body: RouteBody<Routes['patchMachineType']>): MachineType['assumed'] {
  return (body.assumed ?? before.assumed).filter((fact) => body[fact] === undefined)
}

/** What was assumed is known now: where the plan is still the product's own, it is written anew for the facts. */
async function planForFacts(changing: Changing, machineTypeId: string, facts: PlanTypeFacts): Promise<void> {
  const own = await changing.maybeOne(
    `SELECT machine_type_id FROM service_plan WHERE organisation_id = $1 AND machine_type_id = $2 GROUP BY machine_type_id HAVING bool_and(note = $3)`,
    [machineTypeId, DEFAULT_PLAN_NOTE],
  )
  if (!own) return
  const tasks = defaultPlanTasks(facts)
  await ensureComponentTypes(changing, [...new Set(tasks.flatMap((task) => (task.componentKey ? [task.componentKey] : [])))])
  await insertPlan(changing, machineTypeId, { tasks, note: DEFAULT_PLAN_NOTE, validFrom: todayWhereItIsEarliest(changing.now) })
}

export async function patchMachineType(
  changing: Changing,
  machineTypeId: string,
  body: RouteBody<Routes['patchMachineType']>,
): Promise<MachineType> {
  await changing.rows(`SELECT id FROM machine_type WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [machineTypeId])
  const before = await getMachineType(changing, machineTypeId)
  requireVersion(body.version, before.version)
  const said = { ...body, assumed: stillAssumed(before, body) }
  const merged = { ...before, ...said }
  checkBrushLimits(merged)
  if (merged.longestStripMm < merged.shortestStripMm)
    throw new InvalidError('LENGTHS_CROSS', 'The longest strip must not be below the shortest.', '/longestStripMm')
  const { set, values } = assignments(MACHINE_TYPE_COLUMNS, said, 3)
  await changing.run(`UPDATE machine_type SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    machineTypeId,
    ...values,
  ])
  if (body.componentKeys) await putComponents(changing, machineTypeId, body.componentKeys)
  if (said.assumed.length < before.assumed.length) await planForFacts(changing, machineTypeId, merged)
  const after = await getMachineType(changing, machineTypeId)
  changing.note({ action: 'change', subjectKind: 'machine type', subjectId: machineTypeId, before, after })
  changing.datesMayMove(...(await warehousesWithType(changing, machineTypeId)))
  return after
}
