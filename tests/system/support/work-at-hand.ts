/** Orders that the demo has at hand for a test. What is due, and on which drafts, changes from one day to the next: no test may count on a draft as it stands. */
import { type Client, until } from './running.js'

export interface Wanted {
  /** The task's name: an order of this alone. */
  only?: string
  /** How many tasks; left out: as many as the draft has. */
  tasks?: number
  /** Of the order as listed. */
  order?: (order: any) => boolean
  /** Of its sheet. */
  sheet?: (sheet: any) => boolean
}

/** Asked for by name in some test, so taken last by all the others. */
const SOUGHT = ['Measure both motor brushes', 'Replace both motor brushes as a set']

/** What a finding can bring about on any day, by the name of its task. */
const BROUGHT_ABOUT: Readonly<Record<string, string>> = {
  'Measure both motor brushes': 'measure_motor_brushes',
  'Replace both motor brushes as a set': 'replace_motor_brushes',
}
const IN_HAND = 'drafted,issued,accepted,under_way,waiting,returned,done'

/** Where no draft has the task: something was found on a machine without an order, and the task falls due today. */
async function bringAbout(
  manager: Client,
  technician: { id: string; warehouseIds: readonly string[] },
  name: string,
  taskKey: string,
): Promise<any> {
  const busy = new Set((await manager.all(`/api/v1/work-orders?state=${IN_HAND}`)).map(({ machine }) => machine.id))
  const idle = (await manager.all('/api/v1/machines')).find(
    ({ id, status, warehouse }) => status === 'in_service' && warehouse && technician.warehouseIds.includes(warehouse.id) && !busy.has(id),
  )
  await manager.post(`/api/v1/machines/${idle.id}/findings`, { text: 'Sparks more than it did', taskKey, withinDays: 0 })
  return until(`“${name}” to fall due on ${idle.labelCode}`, 90, async () => {
    const { items } = await manager.get(`/api/v1/occurrences?machineId=${idle.id}&state=open&limit=50`)
    const due = items.find(({ taskName }: any) => taskName === name)
    if (!due) return null
    const { status, body } = due.workOrder
      ? await manager.ask('POST', `/api/v1/work-orders/${due.workOrder.id}/issue`, { technicianId: technician.id })
      : await manager.ask('POST', '/api/v1/work-orders', {
          machineId: idle.id,
          occurrenceIds: [due.id],
          technicianId: technician.id,
          issue: true,
        })
    // The planner may have drafted one a moment ago: then that one is issued.
    return status < 300 ? body : null
  })
}

/** @returns an order for a technician, issued to this one: a draft of their warehouses, or, where none is as wanted, one written of a draft's tasks; @throws when no draft has them */
export async function issuedTo(
  manager: Client,
  technician: { id: string; warehouseIds: readonly string[] },
  wanted: Wanted = {},
): Promise<any> {
  const many = wanted.only ? 1 : wanted.tasks
  const drafted = (await manager.all('/api/v1/work-orders?state=drafted')).filter(
    (one) =>
      technician.warehouseIds.includes(one.warehouse.id) &&
      one.skill === 'technician' &&
      (wanted.only === undefined || one.taskNames.includes(wanted.only)) &&
      one.taskNames.length >= (many ?? 1) &&
      (wanted.order?.(one) ?? true),
  )
  const cost = ({ taskNames }: any): number =>
    (wanted.only === undefined && taskNames.some((name: string) => SOUGHT.includes(name)) ? 100 : 0) + taskNames.length
  for (const draft of drafted.toSorted((a, b) => cost(a) - cost(b))) {
    const sheet = await manager.get(`/api/v1/work-orders/${draft.id}`)
    if (wanted.sheet && !wanted.sheet(sheet)) continue
    const tasks = sheet.tasks.filter(({ name }: any) => wanted.only === undefined || name === wanted.only).slice(0, many)
    if (tasks.length === sheet.tasks.length) return manager.post(`/api/v1/work-orders/${draft.id}/issue`, { technicianId: technician.id })
    return manager.post('/api/v1/work-orders', {
      machineId: draft.machine.id,
      occurrenceIds: tasks.map(({ occurrenceId }: any) => occurrenceId),
      technicianId: technician.id,
      issue: true,
    })
  }
  const taskKey = wanted.only === undefined ? undefined : BROUGHT_ABOUT[wanted.only]
  if (taskKey && !wanted.order && !wanted.sheet) return bringAbout(manager, technician, wanted.only ?? '', taskKey)
  const there = (await manager.all('/api/v1/work-orders?state=drafted')).map(
    ({ warehouse, skill, taskNames }) => `${warehouse.name}, ${skill}: ${taskNames.join(' + ')}`,
  )
  throw new Error(`No draft is as wanted (${wanted.only ?? `${many ?? 'any'} tasks`}). Drafted are:\n${there.join('\n')}`)
}
