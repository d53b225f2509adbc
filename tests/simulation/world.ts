/** The parts of a worker with everything around it made up: clock, queue, mail server, and a database whose answers may be lost. */
import type { MailToSend, SendOutcome, SendPhase } from '@tapewarden/messaging'
import { PgScope } from '@tapewarden/persistence'
import { createLogger } from '@tapewarden/platform'
import type { JobQueue, JobToAdd } from '@tapewarden/queues'
import { writeReminders } from '../../libs/persistence/src/planning/write-reminders.js'
import type { CrashPoint } from '../../apps/worker/src/crash-points.js'
import type { WorkerParts } from '../../apps/worker/src/parts.js'
import { readWorkerSettings, type WorkerSettings } from '../../apps/worker/src/settings.js'
import type { Dice } from '../calibration/random.js'
import type { Lane } from './lane.js'
import { type Turn, WorkerDied } from './turns.js'

export class ConnectionLost extends Error {}

export const LEASE_SECONDS = 180
const SETTINGS: WorkerSettings = readWorkerSettings({
  NODE_ENV: 'test',
  DATABASE_URL: 'postgres://nobody@127.0.0.1/none',
  SMTP_URL: 'smtp://127.0.0.1:1',
  SECRET_KEY: 'only-for-tests-'.repeat(3),
  PUBLIC_URL: 'https://care.example',
  LOG_LEVEL: 'silent',
  SEND_LEASE_SECONDS: String(LEASE_SECONDS),
})
const LOG = createLogger('simulation', 'silent')

/** When each occurrence's reminder is to be said and to whom; what a planning pass would find. */
export interface Plan {
  occurrenceId: string
  sayOn: number
  told: 'first' | 'second' | 'administrator'
}

export interface World {
  lane: Lane
  dice: Dice
  nowMs: number
  /** No more faults: only what they left is brought to its end. */
  calm: boolean
  queue: JobToAdd[]
  /** What the mail server took, in order. */
  taken: MailToSend[]
  refused: Set<string>
  plan: Plan[]
  trace: string[]
}

export async function setNow(world: World, ms: number): Promise<void> {
  world.nowMs = ms
  await world.lane.client.query(`SELECT set_config('simulated.now', $1, false)`, [new Date(ms).toISOString()])
}

/** Takes a transaction back to its beginning, or keeps it; both may go unanswered. */
function databaseOf(world: World, turn: Turn): WorkerParts['database'] {
  const { lane, dice } = world
  const query = (text: string) => lane.client.query(text)
  return {
    organisations: async () => [lane.organisation.organisationId],
    async withOrganisationSql<Answer>(organisationId: string, work: (scope: PgScope) => Promise<Answer>): Promise<Answer> {
      await turn('transaction')
      // In the calm nothing is taken back, so nothing needs a point to go back to.
      if (world.calm) return work(new PgScope(organisationId, lane.client))
      const lost = !dice.chance(0.03) ? null : dice.chance(0.5) ? 'before' : 'after'
      await query('SAVEPOINT work')
      try {
        const answer = await work(new PgScope(organisationId, lane.client))
        if (lost === 'before') throw new ConnectionLost('before COMMIT')
        await query('RELEASE SAVEPOINT work')
        if (lost !== 'after') return answer
      } catch (error) {
        await query('ROLLBACK TO SAVEPOINT work')
        throw error
      }
      throw new ConnectionLost('after COMMIT')
    },
  } as unknown as WorkerParts['database']
}

/** The server may take a mail and never say so; what it took stands in the ledger whatever comes after. */
async function deliver(world: World, turn: Turn, letter: MailToSend, onPhase?: (phase: SendPhase) => void): Promise<SendOutcome> {
  const { dice } = world
  const faulty = (chance: number) => !world.calm && dice.chance(chance)
  const take = (how: string) => {
    world.taken.push(letter)
    world.trace.push(`the server took ${letter.messageId.slice(9, 45)} to ${letter.to.address}${how}`)
  }
  await turn('connect')
  if (faulty(0.06)) return { outcome: 'returned', reason: '451 not now' }
  if (faulty(0.04)) world.refused.add(letter.to.address)
  if (world.refused.has(letter.to.address)) return { outcome: 'refused', reason: '550 never', code: 550, atRecipient: true }
  onPhase?.('data_begins')
  if (faulty(0.05)) return { outcome: 'uncertain', reason: 'lost in the body' }
  onPhase?.('body_written')
  await turn('the body is written')
  take('')
  await turn('it is taken')
  if (faulty(0.05)) return { outcome: 'uncertain', reason: 'lost after the dot' }
  return { outcome: 'sent', response: '250 taken' }
}

export function partsOf(world: World, turn: Turn): WorkerParts {
  const { dice, lane } = world
  const add = async (jobs: readonly JobToAdd[]) => {
    await turn('enqueue')
    if (!world.calm && dice.chance(0.05)) throw new Error('the queue is away')
    for (const job of jobs) if (world.calm || !dice.chance(0.05)) world.queue.push(job)
  }
  const database = databaseOf(world, turn)
  return {
    database,
    clock: { now: async () => new Date(world.nowMs) },
    queue: {
      enqueue: (name: JobToAdd['name'], input: JobToAdd['input'], options?: JobToAdd['options']) =>
        add([{ name, input, options } as JobToAdd]),
      enqueueAll: add,
    } as unknown as JobQueue,
    mailer: { send: (letter, onPhase) => deliver(world, turn, letter, onPhase), close: () => undefined },
    log: LOG,
    settings: SETTINGS,
    crash: (point: CrashPoint) => {
      if (world.calm || !dice.chance(0.015)) return
      world.trace.push(`dies at ${point}`)
      throw new WorkerDied(point)
    },
    runPass: async ({ warehouseId, today, now }) => {
      const day = Math.round(Date.parse(`${today}T00:00:00Z`) / 86_400_000)
      const { managerId, technicianId, administratorId } = lane.organisation
      const person = (personId: string, role: string) => ({ personId, role, servesHere: true, leadDays: 7, takesReminders: true })
      const here = {
        firstPersonId: managerId,
        secondPersonId: technicianId,
        people: [person(managerId, 'manager'), person(technicianId, 'technician'), person(administratorId, 'administrator')],
        absences: [],
      }
      const say = world.plan
        .filter(({ sayOn }) => sayOn <= day)
        .map(({ occurrenceId, sayOn, told }) => ({
          occurrenceId,
          say: { stage: 'due' as const, told, sayOn, class: 'digest' as const },
        }))
      const count = await database.withOrganisationSql(lane.organisation.organisationId, (scope) =>
        writeReminders(scope, { warehouseId, today: day, now }, { opened: [], superseded: [], redated: 0, say }, here),
      )
      return { summary: `${count} reminders` }
    },
  }
}
