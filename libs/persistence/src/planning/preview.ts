import type { PlanTask } from '@tapewarden/scheduling'
import type { PgScope } from '../pg-scope.js'
import { compute, type PlanningMath } from './compute.js'
import { dayNumber, dayTextOrNull } from './days.js'
import { LocalMoments } from './local-moments.js'
import { readChunk } from './read-chunk.js'
import { readLife } from './read-life.js'
import { machinesOfWarehouse } from './read-machines.js'
import { readWarehouse, type WarehouseFacts } from './read-warehouse.js'

/** What a pass run now would say of one task on one machine. */
export interface PreviewedDate {
  machineId: string
  serviceTaskId: string
  taskKey: string
  taskName: string
  safetyCheck: boolean
  state: string
  /** The open occurrence's due day, else the likely day. */
  dueOn: string | null
  lastDoneOn: string | null
  reason: string | null
}

export interface PreviewQuestion {
  warehouseId: string
  /** Local date of the warehouse. */
  today: string
  machineIds: readonly string[]
}

/** As many as a pass puts into one transaction. */
const MOST_TOGETHER = 1000

type Dater = () => Promise<PreviewedDate[]>

/** Reads one warehouse's machines once; each call then computes their dates under the plans as they stand at that moment. */
async function daterOf(scope: PgScope, math: PlanningMath, question: PreviewQuestion): Promise<Dater> {
  const facts = await readWarehouse(scope, question.warehouseId, question.today)
  if (!facts) return async () => []
  const today = dayNumber(question.today)
  const moments = new LocalMoments(facts.calendar.zone)
  // The machines of a warehouse tell of each other: with all of them the dates are those that the pass wrote.
  const everyone = await machinesOfWarehouse(scope, question.warehouseId)
  const rows = await readChunk(scope, facts, moments, everyone.length <= MOST_TOGETHER ? everyone : question.machineIds, today)
  const asked = new Set(question.machineIds)
  const openOf = (machineId: string, taskId: string) =>
    rows.open.find((row) => row.machine_id === machineId && row.service_task_id === taskId)
  return async () => {
    const held: WarehouseFacts = (await readWarehouse(scope, question.warehouseId, question.today)) ?? facts
    const life = await readLife(scope, held, today)
    const { machines } = compute(math, rows, held, moments, life, today)
    return machines
      .filter(({ row }) => asked.has(row.id))
      .flatMap(({ plan }) =>
        plan.forecasts.flatMap((forecast) => {
          const task = held.taskById.get(forecast.planTaskId)
          return task ? [dateOf(task, plan, forecast, openOf(plan.machineId, forecast.serviceTaskId))] : []
        }),
      )
  }
}

/**
 * The dates that a pass of these machines would write now, and after `change` was made in the same transaction.
 * Writes nothing itself; whoever calls it rolls the change back or keeps it.
 */
export async function previewChange(
  scope: PgScope,
  math: PlanningMath,
  questions: readonly PreviewQuestion[],
  change: () => Promise<unknown>,
): Promise<{ before: PreviewedDate[]; after: PreviewedDate[] }> {
  const daters: Dater[] = []
  for (const question of questions) daters.push(await daterOf(scope, math, question))
  const all = async (): Promise<PreviewedDate[]> => {
    const dates: PreviewedDate[] = []
    for (const dater of daters) dates.push(...(await dater()))
    return dates
  }
  const before = await all()
  await change()
  return { before, after: await all() }
}

/** The dates that a pass of these machines would write now, of everything that stands in this transaction. */
export async function datesNow(scope: PgScope, math: PlanningMath, question: PreviewQuestion): Promise<PreviewedDate[]> {
  return (await daterOf(scope, math, question))()
}

type Plan = ReturnType<typeof compute>['machines'][number]['plan']

function dateOf(
  task: PlanTask,
  plan: Plan,
  forecast: Plan['forecasts'][number],
  open: { id: string; due_on: string } | undefined,
): PreviewedDate {
  const change = plan.changes.find((one) =>
    one.do === 'open' ? one.serviceTaskId === task.serviceTaskId : one.do === 'redate' && one.occurrenceId === open?.id,
  )
  const superseded = plan.changes.some((one) => one.do === 'supersede' && one.occurrenceId === open?.id)
  const opened = change?.do === 'open' || change?.do === 'redate' ? dayTextOrNull(change.dueOn) : null
  return {
    machineId: plan.machineId,
    serviceTaskId: task.serviceTaskId,
    taskKey: task.key,
    taskName: task.name,
    safetyCheck: task.safetyCheck,
    state: forecast.state,
    dueOn: opened ?? (open && !superseded ? open.due_on : dayTextOrNull(forecast.likelyOn)),
    lastDoneOn: typeof forecast.basis.lastDoneOn === 'string' ? forecast.basis.lastDoneOn : null,
    reason: forecast.reason,
  }
}
