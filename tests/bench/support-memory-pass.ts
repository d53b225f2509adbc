/** One pass over a whole fleet in chunks, as the worker's jobs run it one after the other; prints time and peak memory. */
import { Database, planningWork, runPlanningPass } from '@tapewarden/persistence'
import type { MemoryRun } from './memory.js'
import type { Fleet } from './support-fleet.js'

/** Machines of one job of the worker. */
const CHUNK = 1000

const [url = '', fleetText = ''] = process.argv.slice(2)
const fleet = JSON.parse(fleetText) as Fleet
const database = await Database.open({ url, applicationName: 'bench' })
const work = await planningWork(database, fleet.organisationId, fleet.warehouseId)
const machineIds = work?.machineIds ?? []
const began = performance.now()
let forecastsChanged = 0
for (let from = 0; from < machineIds.length; from += CHUNK) {
  const result = await runPlanningPass(database, {
    ...fleet,
    machineIds: machineIds.slice(from, from + CHUNK),
    now: new Date(`${fleet.today}T04:00:00Z`),
  })
  forecastsChanged += result.forecastsChanged
}
const run: MemoryRun = {
  msPerMachine: (performance.now() - began) / machineIds.length,
  // Kilobytes on Linux.
  peakMb: process.resourceUsage().maxRSS / 1000,
  forecastsChanged,
}
await database.close()
process.stdout.write(JSON.stringify(run))
