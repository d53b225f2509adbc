/** Orders that the demo has at hand for a test. What is due, and on which drafts, changes from one day to the next: no test may count on a draft as it stands. */
import type { Client } from './running.js'

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
  const there = (await manager.all('/api/v1/work-orders?state=drafted')).map(
    ({ warehouse, skill, taskNames }) => `${warehouse.name}, ${skill}: ${taskNames.join(' + ')}`,
  )
  throw new Error(`No draft is as wanted (${wanted.only ?? `${many ?? 'any'} tasks`}). Drafted are:\n${there.join('\n')}`)
}
