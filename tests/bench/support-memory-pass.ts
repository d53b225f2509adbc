/** One pass over a whole fleet in chunks, in as many threads as the worker has; prints time and peak memory. */
import { SqlDatabase } from '@tapewarden/persistence/pass'
import type { MemoryRun } from './memory.js'
import type { Fleet } from './support-fleet.js'
import { imported } from './support-mail.js'
import { passInThreads, plannerOver, total } from './support-threads.js'

// What a worker holds besides the pass.
await Promise.all(['worker.js', 'health/health.module.js'].map((file) => imported(`apps/worker/dist/${file}`)))

const [url = '', fleetText = ''] = process.argv.slice(2)
const fleet = JSON.parse(fleetText) as Fleet
const database = await SqlDatabase.open({ url, applicationName: 'bench' })
const planner = await plannerOver(url)
const began = performance.now()
const results = await passInThreads(database, planner, { ...fleet, now: new Date(`${fleet.today}T04:00:00Z`) })
const run: MemoryRun = {
  msPerMachine: (performance.now() - began) / total(results, 'machines'),
  // Kilobytes on Linux; threads included.
  peakMb: process.resourceUsage().maxRSS / 1000,
  forecastsChanged: total(results, 'forecastsChanged'),
}
await planner.close()
await database.close()
process.stdout.write(JSON.stringify(run))
