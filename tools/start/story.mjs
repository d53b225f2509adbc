// A first look at the demo should find a day under way, as its people would have left it: some orders are issued.
import { ApiClient, until } from './client.mjs'

const ISSUED = 4

/** Every warehouse's dates rest on all its evidence, so orders are drafted. */
async function planned(manager) {
  return await until('the planning pass', 120, async () => {
    const { items } = await manager.get('/api/v1/warehouses')
    return items.length > 0 && items.every(({ upToDate }) => upToDate)
  })
}

/** Through the api, as the demo's manager; what fails here stops nothing and is said. */
export async function tellStory({ urls, signIns, say }) {
  const [asManager, asTechnician] = ['manager', 'technician'].map((wanted) => signIns.find(({ role }) => role === wanted))
  if (!asManager || !asTechnician) return
  const base = urls.desk.replace(/\/$/, '')
  try {
    say('Planning for the first time …')
    const [manager, technician] = [new ApiClient(base), new ApiClient(base)]
    await manager.signIn(asManager)
    await planned(manager)
    const me = await technician.signIn(asTechnician)
    const serves = new Set(me.warehouses.map(({ id }) => id))
    const orders = (await manager.all('/api/v1/work-orders?state=drafted'))
      .filter(({ warehouse, skill }) => serves.has(warehouse.id) && skill === 'technician')
      .slice(0, ISSUED)
    for (const { id } of orders) await manager.post(`/api/v1/work-orders/${id}/issue`, { technicianId: me.person.id })
    say(`${orders.length} work orders are issued to ${me.person.name}.`)
  } catch (error) {
    say(`No work order could be issued beforehand: ${error.message}`)
  }
}
