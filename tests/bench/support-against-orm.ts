/** P3 of speed.md: the first pass over a fleet against plain ORM code that does the same for a sample of its machines. */
import { runPlanningPassWith } from '@tapewarden/persistence'
import { type BenchResult, summarise } from './result.js'
import { makeFleet } from './support-fleet.js'
import { type Kept, keeping, planByOrm } from './support-orm.js'
import type { BenchServer } from './support-server.js'
import { passInThreads, type Planner, total } from './support-threads.js'

const [SIZE, READINGS, SAMPLE, REPETITIONS] = [4000, 90, 8, 5]
const MADE_BY_A_PASS = 'work_order_task, work_order, reminder, occurrence, forecast, ledger_day, planning_state'

/** How many times faster; the goal is a least, so its reciprocal is held to the goal's. */
export async function againstOrm({ owner, database }: BenchServer, planner: Planner): Promise<BenchResult> {
  const fleet = await makeFleet(owner, SIZE, READINGS)
  const { rows: people } = await owner.query<{ id: string }>('SELECT id FROM person WHERE organisation_id = $1', [fleet.organisationId])
  const request = { ...fleet, now: new Date(`${fleet.today}T04:00:00Z`) }
  const { rows: some } = await owner.query<{ id: string }>('SELECT id FROM machine WHERE organisation_id = $1 ORDER BY id LIMIT $2', [
    fleet.organisationId,
    SAMPLE,
  ])
  const sample = some.map(({ id }) => id)
  const ratios: number[] = []
  let note = ''
  for (let round = 0; round <= REPETITIONS; round++) {
    await owner.query(`TRUNCATE ${MADE_BY_A_PASS} CASCADE`)
    const began = performance.now()
    const planned = await passInThreads(database, planner, request)
    const perMachine = (performance.now() - began) / SIZE
    if (total(planned, 'machines') !== SIZE) throw new Error('the pass left machines out')
    // What the slow side writes: the same results, computed once more and not timed.
    const { math, kept } = keeping()
    const { problems } = await runPlanningPassWith(math, database, { ...request, machineIds: sample })
    if (problems.length > 0 || !kept.ledgers || !kept.plans) throw new Error(`the pass did not compute: ${problems[0]?.reason}`)
    await owner.query(`TRUNCATE ${MADE_BY_A_PASS} CASCADE`)
    let slow = 0
    for (const machineId of sample)
      slow += await planByOrm(
        database,
        fleet,
        kept as Kept,
        machineId,
        people.map(({ id }) => id),
      )
    if (round === 0) continue
    ratios.push(perMachine / (slow / SAMPLE))
    note = `${perMachine.toFixed(2)} ms a machine against ${(slow / SAMPLE).toFixed(0)} ms (last repetition); ${SAMPLE} machines sampled`
  }
  const times = [...ratios].sort((a, b) => a - b).map((ratio) => Math.round(1 / ratio))
  return summarise(
    `P3 first pass, ${SIZE} machines, against plain ORM code`,
    ratios,
    0.01,
    `${note}; ${times.at(-1)} to ${times[0]} times faster`,
  )
}
