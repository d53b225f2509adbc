import { planningMath, previewChange, type PreviewedDate, type PreviewQuestion } from '@tapewarden/persistence'
import { sayPlanChange } from '@tapewarden/scheduling'
import type { MovedDate, PlanPreview, RouteBody, Routes, ServicePlanTask } from '@tapewarden/shared'
import { earliestToday, localDateOf } from '../use/local-day.js'
import { largestFirst, middleOf, MOST_PREVIEWED, movesOf, type Standing } from '../use/moved-dates.js'
import type { Changing } from '../use/work.js'
import { getMachineType } from './machine-type-reads.js'
import { createServicePlan, getServicePlan } from './service-plans.js'

type NewPlan = RouteBody<Routes['createServicePlan']>

interface StandingThere extends Standing {
  warehouseId: string
  zone: string
}

async function machinesOfType(changing: Changing, machineTypeId: string): Promise<StandingThere[]> {
  return changing.rows<StandingThere>(
    `SELECT m.id AS "machineId", m.label_code AS "labelCode", w.id AS "warehouseId", w.name AS "warehouseName", w.zone
     FROM machine m JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     WHERE m.organisation_id = $1 AND m.machine_type_id = $2 AND m.status <> 'retired' ORDER BY w.id, m.id LIMIT $3`,
    [machineTypeId, MOST_PREVIEWED],
  )
}

function questionsOf(machines: readonly StandingThere[], now: Date): PreviewQuestion[] {
  const places = new Map<string, { zone: string; machineIds: string[] }>()
  for (const { warehouseId, zone, machineId } of machines) {
    const place = places.get(warehouseId) ?? { zone, machineIds: [] }
    place.machineIds.push(machineId)
    places.set(warehouseId, place)
  }
  return [...places].map(([warehouseId, { zone, machineIds }]) => ({ warehouseId, today: localDateOf(now, zone), machineIds }))
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b)

function changeOf(then: ServicePlanTask | undefined, now: ServicePlanTask | undefined): PlanPreview['tasks'][number]['change'] {
  if (!then) return 'new'
  if (!now) return 'gone'
  if (!same(then.triggers, now.triggers)) return 'triggers'
  const content = ({ planTaskId: _id, position: _position, ...rest }: ServicePlanTask) => rest
  return same(content(then), content(now)) ? 'same' : 'content'
}

function taskLine(
  then: ServicePlanTask | undefined,
  now: ServicePlanTask | undefined,
  moves: readonly MovedDate[],
  dates: readonly PreviewedDate[],
): PlanPreview['tasks'][number] {
  const task = (now ?? then) as ServicePlanTask
  const mine = moves.filter(({ taskKey }) => taskKey === task.key)
  const days = mine.flatMap((move) => (move.days === null || move.days === 0 ? [] : [move.days]))
  return {
    key: task.key,
    name: task.name,
    change: changeOf(then, now),
    sentences: sayPlanChange({ before: then?.triggers ?? null, after: now?.triggers ?? null, safetyCheck: task.safetyCheck }),
    earlierCount: days.filter((count) => count < 0).length,
    laterCount: days.filter((count) => count > 0).length,
    sameCount: dates.filter(({ taskKey }) => taskKey === task.key).length - mine.filter(({ after }) => after !== null).length,
    medianDays: middleOf(days),
  }
}

/**
 * Saves the new version, has the planner compute every machine of the type before and after it, and leaves it to the
 * caller to take all of it back: what is shown is what the next pass would write.
 */
export async function previewServicePlan(changing: Changing, machineTypeId: string, body: NewPlan): Promise<PlanPreview> {
  const type = await getMachineType(changing, machineTypeId)
  const old = type.currentPlanId === null ? null : await getServicePlan(changing, type.currentPlanId)
  const machines = await machinesOfType(changing, machineTypeId)
  const questions = questionsOf(machines, changing.now)
  // A version that begins later is shown as if it began today, else there would be nothing to see.
  const validFrom = await earliestToday(changing)
  let next: ServicePlanTask[] = []
  const { before, after } = await previewChange(changing.scope, planningMath, questions, async () => {
    next = (await createServicePlan(changing, machineTypeId, { ...body, validFrom })).tasks
  })
  const moves = movesOf(machines, before, after)
  const keys = [...new Set([...next, ...(old?.tasks ?? [])].map(({ key }) => key))]
  const find = (tasks: readonly ServicePlanTask[] | undefined, key: string) => tasks?.find((task) => task.key === key)
  return {
    machineCount: type.machineCount,
    machinesComputed: machines.length,
    tasks: keys.map((key) => taskLine(find(old?.tasks, key), find(next, key), moves, after)),
    ...largestFirst(moves),
  }
}
