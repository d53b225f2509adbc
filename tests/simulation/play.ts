/** One seed: a warehouse's reminders through pass, outbox, queue and mail while everything around them fails, then calm, then the count. */
import { type AnyHandler, handleJob, type JobName, type JobToAdd } from '@tapewarden/queues'
import { composeMessages } from '../../apps/worker/src/composing/compose-messages.js'
import type { WorkerParts } from '../../apps/worker/src/parts.js'
import { planChunk, planWarehouse } from '../../apps/worker/src/planning/plan-warehouse.js'
import { scoreDates } from '../../apps/worker/src/planning/score-dates.js'
import { sendMessage } from '../../apps/worker/src/sending/send-message.js'
import { sweep } from '../../apps/worker/src/sweep/sweep.js'
import { Dice } from '../calibration/random.js'
import type { Lane } from './lane.js'
import { startTask, type Task, type Turn, WorkerDied } from './turns.js'
import { partsOf, setNow, type World } from './world.js'

const [SECOND_MS, DAY_MS] = [1000, 86_400_000]
/** A Tuesday; shifts are Monday to Friday, 06:00 to 14:00 UTC. */
const TUESDAY = Date.UTC(2026, 2, 3) / DAY_MS
const WORKING_DAYS = [TUESDAY + 1, TUESDAY + 2, TUESDAY + 3, TUESDAY + 6, TUESDAY + 7]
const WORKERS = 3

export interface Played {
  seed: number
  told: number
  mails: number
  uncertain: number
  deaths: number
  /** In words; empty where nothing was lost and nothing came twice. */
  faults: string[]
  trace: string[]
}

/** Something that would break the promise, for showing that the count finds it. */
export type Sabotage = (world: World) => Promise<void>

function handlersOf(parts: WorkerParts): ReadonlyMap<JobName, AnyHandler> {
  const handlers: AnyHandler[] = [planWarehouse(parts), planChunk(parts), scoreDates(parts), composeMessages(parts), sendMessage(parts)]
  return new Map(handlers.map((handler) => [handler.name, handler]))
}

const runJob = (job: JobToAdd) => (parts: WorkerParts) =>
  handleJob(handlersOf(parts), { name: job.name, data: { v: 1, ...job.input }, attemptsMade: 0 })

class Chaos {
  tasks: Task[] = []
  deaths = 0

  constructor(private readonly world: World) {}

  start(name: string, work: (parts: WorkerParts) => Promise<unknown>, job: JobToAdd | null): void {
    const { world } = this
    const worker = world.dice.whole(0, WORKERS - 1)
    const body = (turn: Turn) => work(partsOf(world, turn))
    const onEnd = (error: unknown) => {
      world.trace.push(`${name} on ${worker}: ${error instanceof Error ? error.constructor.name + ' ' + error.message : 'ended'}`)
      if (error instanceof WorkerDied) this.deaths += 1
      // At least once: what failed or died comes again, unless the queue forgets it.
      if (error !== null && job !== null && world.dice.chance(0.5)) world.queue.push(job)
    }
    this.tasks.push(startTask(name, worker, body, onEnd))
  }

  private pick<Item>(items: readonly Item[]): Item | undefined {
    return items[this.world.dice.whole(0, items.length - 1)]
  }

  private async deliverJob(): Promise<void> {
    const { queue, dice } = this.world
    if (queue.length === 0) return
    const at = dice.chance(0.7) ? 0 : dice.whole(0, queue.length - 1)
    const job = queue[at] as JobToAdd
    // A lock that ran out: the job is given out while somebody still has it.
    if (!dice.chance(0.08)) queue.splice(at, 1)
    this.start(job.name, runJob(job), job)
  }

  private async killWorker(): Promise<void> {
    const worker = this.world.dice.whole(0, WORKERS - 1)
    const own = this.tasks.filter((task) => task.worker === worker && !task.done)
    if (own.length > 0) this.world.trace.push(`kill -9 of worker ${worker}`)
    for (const task of own) await task.die()
  }

  private async passTime(): Promise<void> {
    const { world } = this
    const { dice } = world
    const ms = dice.chance(0.85) ? dice.between(0.1, 20) * SECOND_MS : dice.between(30, 240) * SECOND_MS
    await setNow(world, world.nowMs + Math.round(ms))
  }

  private async closeOccurrence(): Promise<void> {
    const { world } = this
    const one = this.pick(world.plan)
    if (!one) return
    world.trace.push(`occurrence ${world.lane.labels.get(one.occurrenceId)} is done`)
    await world.lane.scope.run(
      `UPDATE occurrence SET state = 'done', ended_on = '2026-03-03', done_on = '2026-03-03' WHERE id = $1 AND state = 'open'`,
      [one.occurrenceId],
    )
  }

  async step(): Promise<void> {
    const { dice, queue } = this.world
    this.tasks = this.tasks.filter((task) => !task.done)
    const draw = dice.uniform()
    if (draw < 0.6 && this.tasks.length > 0) return this.pick(this.tasks)?.step()
    if (draw < 0.82) return this.deliverJob()
    if (draw < 0.88) return this.start('sweep', (parts) => sweep(parts, 'chaos'), null)
    if (draw < 0.955) return this.passTime()
    if (draw < 0.97) return this.killWorker()
    if (draw < 0.975) return void queue.splice(0)
    if (draw < 0.98) return this.closeOccurrence()
  }

  async endAll(): Promise<void> {
    for (const task of this.tasks) while (!task.done) await task.die()
  }
}

async function openEnds({ lane }: World): Promise<number> {
  const [row] = await lane.scope.rows<{ count: number }>(
    `SELECT (SELECT count(*)::int FROM reminder r JOIN occurrence o ON o.id = r.occurrence_id
             WHERE r.message_id IS NULL AND r.dropped_reason IS NULL AND o.state = 'open')
       + (SELECT count(*)::int FROM message m WHERE state IN ('pending', 'claimed', 'handing_over') OR (state = 'uncertain' AND folded_into_id IS NULL
          AND EXISTS (SELECT 1 FROM reminder r JOIN occurrence o ON o.id = r.occurrence_id WHERE r.message_id = m.id AND o.state = 'open'))) AS count`,
  )
  return row?.count ?? 0
}

/** A few quiet days: sweeps, and every job that they bring, one after the other. */
async function settle(world: World): Promise<void> {
  world.calm = true
  world.queue.length = 0
  const alone = partsOf(world, async () => undefined)
  const lastSay = Math.max(...world.plan.map(({ sayOn }) => sayOn))
  for (const day of WORKING_DAYS) {
    for (const minutes of [10, 45, 80]) {
      await setNow(world, Math.max(world.nowMs + 200 * SECOND_MS, day * DAY_MS + 8 * 3_600_000 + minutes * 60_000))
      await sweep(alone, 'calm')
      for (let job = world.queue.shift(); job; job = world.queue.shift()) await runJob(job)(alone)
      if (day >= lastSay && (await openEnds(world)) === 0) return
    }
  }
}

const MAYBE = 'You may have had this already'

async function judge(world: World): Promise<string[]> {
  const [sure, maybe] = [new Map<string, number>(), new Set<string>()]
  for (const { text } of world.taken) {
    const [first, second] = text.split(MAYBE)
    for (const label of new Set(first?.match(/M-\w+-\d{4}/g))) sure.set(label, (sure.get(label) ?? 0) + 1)
    for (const label of second?.match(/M-\w+-\d{4}/g) ?? []) maybe.add(label)
  }
  const open = new Set((await world.lane.scope.rows<{ id: string }>(`SELECT id FROM occurrence WHERE state = 'open'`)).map(({ id }) => id))
  const faults: string[] = []
  // Three people can have mail; where the server refuses all three there is nobody to tell.
  const nobody = world.refused.size >= 3
  for (const { occurrenceId } of world.plan) {
    const label = world.lane.labels.get(occurrenceId) as string
    const times = sure.get(label) ?? 0
    if (times > 1) faults.push(`${label} was told ${times} times`)
    if (times === 0 && !maybe.has(label) && open.has(occurrenceId) && !nobody) faults.push(`${label} was never told`)
  }
  const left = await openEnds(world)
  if (left > 0 && !nobody) faults.push(`${left} reminders or messages have not come to an end`)
  return faults
}

/** Plays a seed and takes everything back. The same seed is the same story. */
export async function play(lane: Lane, seed: number, sabotage?: Sabotage): Promise<Played> {
  const dice = new Dice(seed)
  const told = ['first', 'second', 'administrator'] as const
  const count = dice.whole(2, lane.organisation.occurrenceIds.length)
  const plan = lane.organisation.occurrenceIds.slice(0, count).map((occurrenceId, index) => ({
    occurrenceId,
    sayOn: dice.chance(0.8) ? TUESDAY : TUESDAY + 1,
    told: told[index % 3] as (typeof told)[number],
  }))
  const world: World = { lane, dice, nowMs: 0, calm: false, queue: [], taken: [], refused: new Set(), plan, trace: [] }
  await lane.client.query('BEGIN')
  try {
    await setNow(world, TUESDAY * DAY_MS + 9 * 3_600_000)
    const chaos = new Chaos(world)
    chaos.start('sweep', (parts) => sweep(parts, 'first'), null)
    for (let steps = dice.whole(25, 70); steps > 0; steps--) {
      await chaos.step()
      await sabotage?.(world)
    }
    await chaos.endAll()
    await settle(world)
    const faults = await judge(world)
    const [row] = await lane.scope.rows<{ uncertain: number }>(`SELECT count(*)::int AS uncertain FROM message WHERE state = 'uncertain'`)
    const { taken, trace } = world
    return { seed, told: plan.length, mails: taken.length, uncertain: row?.uncertain ?? 0, deaths: chaos.deaths, faults, trace }
  } finally {
    await lane.client.query('ROLLBACK')
  }
}
