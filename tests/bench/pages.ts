/**
 * What the desk's pages ask for, of 10 000 machines with three years of history, one request after the other: the slower half
 * of what a manager waits for. API p95 ≤ 300 ms is wanted; the review and the life of parts go through the whole past.
 */
import { REQUEST_HEADER } from '@tapewarden/shared'
import { runPlanningPass } from '@tapewarden/persistence'
import { type BenchResult, summarise } from './result.js'
import { givePassword, Server, signIn } from './support-api.js'
import { makeFleet } from './support-fleet.js'
import { addHistory } from './support-history.js'
import { startBenchServer } from './support-server.js'

const MACHINES = Number(process.env.PAGES_MACHINES ?? 10_000)
const [WARM, TIMES] = [2, 9]
const WANTED_MS = 300

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const fleet = await makeFleet(server.owner, MACHINES, 30)
  const now = new Date(`${fleet.today}T10:00:00Z`)
  await runPlanningPass(server.database, { ...fleet, now })
  await addHistory(server.owner, fleet)
  await givePassword(server.owner, fleet.organisationId)
  const api = await Server.start('product', server.appUrl, now.toISOString())
  try {
    const headers = { cookie: await signIn(api.url), [REQUEST_HEADER]: '1' }
    const get = async (path: string): Promise<any> => {
      const reply = await fetch(`${api.url}/api/v1/${path}`, { headers })
      if (!reply.ok) throw new Error(`${path} answered ${reply.status}: ${(await reply.text()).slice(0, 300)}`)
      return reply.json()
    }
    const [machine] = (await get('machines?limit=1')).items
    const [order] = (await get('work-orders?limit=1')).items
    const [ended] = (await get('work-orders?state=looked_over&limit=1')).items
    const [stoppage] = (await get('stoppages?limit=1')).items
    const year = `from=${Number(fleet.today.slice(0, 4)) - 1}${fleet.today.slice(4)}&to=${fleet.today}`
    const paths = [
      'this-week',
      'coming-up?weeks=13',
      'machines?limit=50',
      `machines/${machine.id}`,
      `machines/${machine.id}/forecasts`,
      `machines/${machine.id}/service-records`,
      'work-orders?limit=50',
      'work-orders?state=looked_over&limit=50',
      `work-orders/${order.id}`,
      `work-orders/${ended.id}`,
      'visits?limit=50',
      'stoppages?limit=50',
      `stoppages/${stoppage.id}`,
      `machines/${machine.id}/usage?${year}`,
      `machines/${machine.id}/findings`,
      `review?${year}`,
      'review/life-curve',
      'review/dates',
      'parts',
      'part-needs',
      'findings?limit=50',
      'messages?limit=50',
      'evidence?state=set_aside&limit=50',
      `reminders?limit=50`,
      'audit?limit=50',
      `rounds?warehouseId=${fleet.warehouseId}`,
      'on-site-machines?limit=200',
      'occurrences?limit=50',
      'health',
    ]
    const results: BenchResult[] = []
    for (const path of paths) {
      const times: number[] = []
      for (let time = 0; time < WARM + TIMES; time += 1) {
        const began = performance.now()
        await get(path)
        times.push((performance.now() - began) / WANTED_MS)
      }
      const measured = times.slice(WARM)
      results.push(summarise(`${path}`, measured, 1, `${Math.round([...measured].sort((a, b) => a - b)[4]! * WANTED_MS)} ms in the middle`))
    }
    return results
  } finally {
    api.end()
    await server.stop()
  }
}
