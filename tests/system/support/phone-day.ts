/** Work for a technician on the demo's fleet. */
import type { Client } from './running.js'

/** The technician serves every warehouse from now on. */
export async function serveAll(manager: Client, technicianId: string): Promise<string[]> {
  const warehouses: { id: string }[] = (await manager.get('/api/v1/warehouses')).items
  for (const { id } of warehouses) {
    const { people } = await manager.get(`/api/v1/warehouses/${id}`)
    const personIds = [...new Set<string>([...people.map((person: { id: string }) => person.id), technicianId])]
    await manager.must('PUT', `/api/v1/warehouses/${id}/people`, { personIds })
  }
  return warehouses.map(({ id }) => id)
}
