/**
 * P1 and P2 of speed.md: the whole planning pass, in the worker's threads, against COPY read + the pure functions + COPY
 * write, one after the other, interleaved in one run.
 */
import { type PassResult, type PlanningMath, planningMath, runPlanningPassWith } from '@tapewarden/persistence'
import { type BenchResult, summarise } from './result.js'
import { againstOrm } from './support-against-orm.js'
import { addReadings, type Fleet, makeFleet } from './support-fleet.js'
import { floorRead, floorWrite, forecastLines, prepareFloorWrite } from './support-floors.js'
import { type BenchServer, startBenchServer } from './support-server.js'
import { passInThreads, type Planner, plannerOver, THREADS, total } from './support-threads.js'

const REPETITIONS = 5
const READINGS = 90
const DAY_MS = 86_400_000

async function timed<Answer>(work: () => Promise<Answer> | Answer): Promise<{ ms: number; answer: Answer }> {
  global.gc?.()
  const began = performance.now()
  const answer = await work()
  return { ms: performance.now() - began, answer }
}

function dayAfter(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10)
}

/** Everything that the pass writes must be written again, and each machine has a reading more. Not part of any time. */
async function makeStale(server: BenchServer, fleet: Fleet, today: string): Promise<void> {
  const { owner } = server
  for (const table of ['work_order_task', 'work_order', 'reminder', 'occurrence']) await owner.query(`DELETE FROM ${table}`)
  await owner.query(`UPDATE forecast SET reason = 'stale'`)
  await owner.query(`UPDATE planning_state SET forecast_digest = ''`)
  await addReadings(owner, fleet, dayAfter(today, -1), 1)
  for (const table of ['work_order_task', 'work_order', 'reminder', 'occurrence', 'forecast', 'planning_state', 'evidence', 'ledger_day'])
    await owner.query(`VACUUM ANALYZE ${table}`)
}

/**
 * The pure functions on arrays in memory: each is run a second time on what a pass gave it, and only that is timed,
 * chunk by chunk, so that not the whole fleet has to be held.
 */
async function timeCompute(pass: (math: PlanningMath) => Promise<PassResult>): Promise<number> {
  let ms = 0
  const again = (work: () => unknown) => {
    const began = performance.now()
    work()
    ms += performance.now() - began
  }
  await pass({
    buildLedgers: (input) => {
      const answer = planningMath.buildLedgers(input)
      again(() => planningMath.buildLedgers(input))
      return answer
    },
    planMachines: (input) => {
      const answer = planningMath.planMachines(input)
      again(() => planningMath.planMachines(input))
      return answer
    },
  })
  return ms
}

interface Repetition {
  read: number
  compute: number
  write: number
  changed: number
  unchanged: number
}

async function repeat(server: BenchServer, planner: Planner, fleet: Fleet, size: number, today: string): Promise<Repetition> {
  const request = { ...fleet, today, now: new Date(`${today}T04:00:00Z`) }
  const pass = () => passInThreads(server.database, planner, request)
  await makeStale(server, fleet, today)
  const changed = await timed(pass)
  const forecastsChanged = total(changed.answer, 'forecastsChanged')
  const problems = changed.answer.flatMap((one) => one.problems)
  if (forecastsChanged < size * 6 || problems.length > 0)
    throw new Error(`only ${forecastsChanged} forecasts changed, ${problems.length} problems: ${problems[0]?.reason ?? ''}`)
  const unchanged = await timed(pass)
  for (const figure of ['forecastsChanged', 'ledgerDaysChanged', 'opened', 'redated', 'reminders'] as const)
    if (total(unchanged.answer, figure) > 0) throw new Error(`the second pass wrote something: ${figure}`)
  const compute = await timeCompute((math) => runPlanningPassWith(math, server.database, request))
  const read = await timed(() => floorRead(server.database, fleet, size * (READINGS + 64)))
  const lines = await forecastLines(server.owner, fleet)
  await prepareFloorWrite(server.owner)
  const write = await timed(() => floorWrite(server.owner, lines))
  return { read: read.ms, compute, write: write.ms, changed: changed.ms, unchanged: unchanged.ms }
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor((values.length - 1) / 2)] ?? Number.NaN
}

async function measure(server: BenchServer, planner: Planner, size: number): Promise<BenchResult[]> {
  console.error(`  ${size} machines: making the fleet, and a first pass that counts for nothing …`)
  const fleet = await makeFleet(server.owner, size, READINGS)
  await repeat(server, planner, fleet, size, dayAfter(fleet.today, 1))
  const list: Repetition[] = []
  for (let round = 0; round < REPETITIONS; round++) {
    console.error(`  ${size} machines, repetition ${round + 1} of ${REPETITIONS} …`)
    list.push(await repeat(server, planner, fleet, size, dayAfter(fleet.today, 2 + round)))
  }
  const ms = (key: keyof Repetition) => `${key} ${median(list.map((one) => one[key])).toFixed(0)} ms`
  const parts = `threads ${THREADS}; medians: ${ms('read')}, ${ms('compute')}, ${ms('write')}`
  await server.owner.query('TRUNCATE organisation CASCADE')
  return [
    summarise(
      `P1 pass, ${size} machines, every row changed`,
      list.map((one) => one.changed / (one.read + one.compute + one.write)),
      1.5,
      `${ms('changed')}; ${parts}`,
    ),
    summarise(
      `P2 pass, ${size} machines, nothing changed`,
      list.map((one) => one.unchanged / (one.read + one.compute)),
      1.3,
      `${ms('unchanged')}; ${parts}; no row written`,
    ),
  ]
}

export async function run({ sizes }: { sizes: number[] }): Promise<BenchResult[]> {
  const server = await startBenchServer()
  const planner = await plannerOver(server.appUrl)
  try {
    const results: BenchResult[] = []
    for (const size of sizes) results.push(...(await measure(server, planner, size)))
    results.push(await againstOrm(server, planner))
    return results
  } finally {
    await planner.close()
    await server.stop()
  }
}
