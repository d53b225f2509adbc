import { InvalidError, newId } from '@tapewarden/platform'
import type { PlanTypeFacts } from '@tapewarden/scheduling'
import type { MachineType, RouteBody, Routes } from '@tapewarden/shared'
import { judgeTypeAgain } from '../evidence/take-in.js'
import { todayWhereItIsEarliest } from '../use/local-day.js'
import { assignments, insertion, requireVersion } from '../use/patch.js'
import type { Changing } from '../use/work.js'
import { ensureComponentTypes, putComponents } from './component-types.js'
import { defaultComponentKeys, defaultPlanTasks } from './default-plan.js'
import { getMachineType, MACHINE_TYPE_COLUMNS } from './machine-type-reads.js'
import { insertPlan } from './service-plans.js'
import { warehousesWithType } from './warehouses-with-type.js'

/** Note of a plan version that the product wrote itself. */
const DEFAULT_PLAN_NOTE = 'Default plan'

function checkBrushLimits(type: { brushNewMm?: number | null; brushPlanLimitMm?: number | null; brushNeverBelowMm?: number | null }): void {
  const { brushNewMm: fresh, brushPlanLimitMm: plan, brushNeverBelowMm: never } = type
  if (fresh && plan && fresh <= plan)
    throw new InvalidError('LIMITS_CROSS', 'A new brush must be longer than the plan limit.', '/brushPlanLimitMm')
  if (plan && never && plan <= never)
    throw new InvalidError('LIMITS_CROSS', 'The plan limit must lie above the never-below limit.', '/brushNeverBelowMm')
}

/** What runs or heats by electricity has a source of it; otherwise its sheets would tell nobody to cut it off. */
function checkSupply({ drive, supply, heater }: Pick<MachineType, 'drive' | 'supply' | 'heater'>): void {
  if (supply !== 'none' || (drive === 'hand' && !heater)) return
  const what = drive === 'electric' ? 'An electric machine' : 'A machine with a heater'
  throw new InvalidError(
    'NO_SUPPLY',
    `${what} has cord and plug, or is wired in. Say which; or say that it has neither drive nor heater.`,
    '/supply',
  )
}

export async function createMachineType(changing: Changing, body: RouteBody<Routes['createMachineType']>): Promise<MachineType> {
  checkBrushLimits(body)
  checkSupply(body)
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

/** What was assumed is known now, or what was said wrongly is put right: where the plan is still the product's own, it is written anew for the facts. */
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

const DECIDE_THE_PLAN = ['drive', 'supply', 'heater', 'feltBehindCover'] as const
const DECIDE_WHAT_IT_CAN_CUT = [
  'counterKind',
  'counterModulus',
  'mostStripsPerMinute',
  'feedSpeedMPerMin',
  'startUpSecondsPerStrip',
  'meanStripMm',
] as const

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
  if (DECIDE_THE_PLAN.some((fact) => body[fact] !== undefined)) checkSupply(merged)
  if (merged.longestStripMm < merged.shortestStripMm)
    throw new InvalidError('LENGTHS_CROSS', 'The longest strip must not be below the shortest.', '/longestStripMm')
  const { set, values } = assignments(MACHINE_TYPE_COLUMNS, said, 3)
  await changing.run(`UPDATE machine_type SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    machineTypeId,
    ...values,
  ])
  if (body.componentKeys) await putComponents(changing, machineTypeId, body.componentKeys)
  if (DECIDE_WHAT_IT_CAN_CUT.some((fact) => body[fact] !== undefined)) await judgeTypeAgain(changing, machineTypeId)
  const corrected = DECIDE_THE_PLAN.some((fact) => merged[fact] !== before[fact])
  if (corrected || said.assumed.length < before.assumed.length) await planForFacts(changing, machineTypeId, merged)
  const after = await getMachineType(changing, machineTypeId)
  changing.note({ action: 'change', subjectKind: 'machine type', subjectId: machineTypeId, before, after })
  changing.datesMayMove(...(await warehousesWithType(changing, machineTypeId)))
  return after
}
