import { planningMath, previewChange, type PreviewedDate, type PreviewQuestion } from '@tapewarden/persistence'
import { sayPlanChange } from '@tapewarden/scheduling'
import type { PlanPreview, RouteBody, Routes, ServicePlanTask } from '@tapewarden/shared'
import { daysBetween, earliestToday, localDateOf } from '../use/local-day.js'
import type { Changing } from '../use/work.js'
import { getMachineType } from './machine-type-reads.js'
import { createServicePlan, getServicePlan } from './service-plans.js'

type NewPlan = RouteBody<Routes['createServicePlan']>
type Move = PlanPreview['moves'][number]

/** A preview answers while somebody waits; more than these are not computed, and the answer says so. */
const MOST_MACHINES = 2000
const MOST_MOVES = 400

interface Standing extends Record<string, unknown> {
  machineId: string
  labelCode: string
  warehouseId: string
  warehouseName: string
  zone: string
}

async function machinesOfType(changing: Changing, machineTypeId: string): Promise<Standing[]> {
  return changing.rows<Standing>(
    `SELECT m.id AS "machineId", m.label_code AS "labelCode", w.id AS "warehouseId", w.name AS "warehouseName", w.zone
     FROM machine m JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
     JOIN warehouse w ON w.organisation_id = p.organisation_id AND w.id = p.warehouse_id
     WHERE m.organisation_id = $1 AND m.machine_type_id = $2 AND m.status <> 'retired' ORDER BY w.id, m.id LIMIT $3`,
    [machineTypeId, MOST_MACHINES],
  )
}

function moveOf(where: Standing, before: PreviewedDate | undefined, after: PreviewedDate | undefined): Move | null {
  const [from, to] = [before?.dueOn ?? null, after?.dueOn ?? null]
  const one = after ?? before
  if (!one || (from === to && before?.state === after?.state)) return null
  return {
    machineId: where.machineId,
    labelCode: where.labelCode,
    warehouseName: where.warehouseName,
    taskKey: one.taskKey,
    taskName: one.taskName,
    before: before ? { state: before.state, dueOn: from } : null,
    after: after ? { state: after.state, dueOn: to } : null,
    days: from !== null && to !== null ? daysBetween(from, to) : null,
    lastDoneOn: one.lastDoneOn,
  }
}

function questionsOf(machines: readonly Standing[], now: Date): PreviewQuestion[] {
  const places = new Map<string, { zone: string; machineIds: string[] }>()
  for (const { warehouseId, zone, machineId } of machines) {
    const place = places.get(warehouseId) ?? { zone, machineIds: [] }
    place.machineIds.push(machineId)
    places.set(warehouseId, place)
  }
  return [...places].map(([warehouseId, { zone, machineIds }]) => ({ warehouseId, today: localDateOf(now, zone), machineIds }))
}

function middleOf(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[sorted.length >> 1] ?? null
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
  moves: readonly Move[],
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
    movedCount: moves.length,
    moves: moves.toSorted((a, b) => Math.abs(b.days ?? 0) - Math.abs(a.days ?? 0)).slice(0, MOST_MOVES),
  }
}

function movesOf(machines: readonly Standing[], before: readonly PreviewedDate[], after: readonly PreviewedDate[]): Move[] {
  const keyOf = (date: PreviewedDate) => `${date.machineId} ${date.serviceTaskId}`
  const [then, now] = [new Map(before.map((one) => [keyOf(one), one])), new Map(after.map((one) => [keyOf(one), one]))]
  const place = new Map(machines.map((one) => [one.machineId, one]))
  return [...new Set([...then.keys(), ...now.keys()])].flatMap((key) => {
    const where = place.get(key.slice(0, 36))
    const move = where ? moveOf(where, then.get(key), now.get(key)) : null
    return move ? [move] : []
  })
}
