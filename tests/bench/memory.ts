/**
 * P5 and P6 of speed.md: passes over 10 000 and 100 000 machines, chunk by chunk as the worker's jobs run them, each in a
 * process of its own with the worker's own flags; its peak memory is what the operating system says of that process.
 */
import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { type BenchResult, summarise } from './result.js'
import { type Fleet, makeFleet } from './support-fleet.js'
import { type BenchServer, startBenchServer } from './support-server.js'

const REPETITIONS = 5
/** Readings a machine: a month of days. */
const READINGS = 30
const [SMALL, LARGE] = [10_000, 100_000]
const PEAK_GOAL_MB = 250
const GROWTH_GOAL_MB = 30

export interface MemoryRun {
  msPerMachine: number
  peakMb: number
  forecastsChanged: number
}

function passInItsOwnProcess({ appUrl }: BenchServer, fleet: Fleet): MemoryRun {
  const flags = (process.env.TAPEWARDEN_WORKER_FLAGS ?? '').split(' ').filter(Boolean)
  const env = { ...process.env, ...(JSON.parse(process.env.TAPEWARDEN_WORKER_ENV ?? '{}') as Record<string, string>) }
  const child = spawnSync(
    process.execPath,
    [...flags, join(import.meta.dirname, 'support-memory-pass.js'), appUrl, JSON.stringify(fleet)],
    { encoding: 'utf8', env, stdio: ['ignore', 'pipe', 'inherit'] },
  )
  if (child.status !== 0) throw new Error(`the pass in its own process ended with ${child.status ?? child.signal}`)
  return JSON.parse(child.stdout) as MemoryRun
}

async function makeTwo(server: BenchServer): Promise<{ small: Fleet; large: Fleet }> {
  console.error(`  making fleets of ${SMALL} and ${LARGE} machines, and their first passes …`)
  const [small, large] = [await makeFleet(server.owner, SMALL, READINGS), await makeFleet(server.owner, LARGE, READINGS)]
  // The first pass writes everything: it is what P6 is about too, but not what P5 compares.
  for (const fleet of [small, large])
    if (passInItsOwnProcess(server, fleet).forecastsChanged === 0) throw new Error('the first pass wrote nothing')
  return { small, large }
}

export async function run(): Promise<BenchResult[]> {
  const server = await startBenchServer()
  try {
    const { small, large } = await makeTwo(server)
    const rounds: { small: MemoryRun; large: MemoryRun }[] = []
    for (let round = 0; round < REPETITIONS; round++) {
      console.error(`  repetition ${round + 1} of ${REPETITIONS} …`)
      rounds.push({ small: passInItsOwnProcess(server, small), large: passInItsOwnProcess(server, large) })
    }
    const peak = (size: 'small' | 'large') => Math.max(...rounds.map((one) => one[size].peakMb))
    const note = `nothing changed, ${READINGS} readings a machine; peaks ${peak('small').toFixed(0)} MB at ${SMALL}, ${peak('large').toFixed(0)} MB at ${LARGE}`
    return [
      summarise(
        'P5 time a machine, 100 000 against 10 000',
        rounds.map((one) => one.large.msPerMachine / one.small.msPerMachine),
        1.15,
        note,
      ),
      summarise(
        `P6 peak memory at 100 000 against ${PEAK_GOAL_MB} MB`,
        rounds.map((one) => one.large.peakMb / PEAK_GOAL_MB),
        1,
        note,
      ),
      summarise(
        `P6 peak memory above that at 10 000 against ${GROWTH_GOAL_MB} MB`,
        rounds.map((one) => (one.large.peakMb - one.small.peakMb) / GROWTH_GOAL_MB),
        1,
        note,
      ),
    ]
  } finally {
    await server.stop()
  }
}
