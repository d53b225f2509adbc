import { hostname } from 'node:os'
import { type Alarm, type PgScope, writeAlarms } from '@tapewarden/persistence/sql'
import type { WorkerParts } from '../parts.js'
import { send } from '../sending/send-message.js'
import { observe, type Observed } from './observe.js'

/** So old may a due row be, and so long may nothing of its kind move, before it counts as standing still. */
const STILL_SECONDS = 20
const QUIET_SECONDS = 45
/** So long must it stand still as we look on: a start after a night finds old rows that move in a moment. */
const LOOKED_ON_MS = 45_000
const QUEUE_ANSWER_MS = 2000

const quiet = (seconds: number | null): boolean => seconds === null || seconds > QUIET_SECONDS

/** Something is due and nothing of its kind moves; a slow but moving queue is no such thing. */
export function standsStill({ oldestDueSeconds, oldestUnsaidSeconds, sinceHandedOverSeconds, sinceComposedSeconds }: Observed): boolean {
  const sending = oldestDueSeconds > STILL_SECONDS && quiet(sinceHandedOverSeconds)
  const composing = oldestUnsaidSeconds > STILL_SECONDS && quiet(sinceComposedSeconds)
  return sending || composing
}

interface OwnState {
  clockDifferenceMs: number
  jobs: Record<string, unknown> | null
}

async function beat(scope: PgScope, now: Date, own: OwnState, observed: Observed): Promise<void> {
  await scope.run(
    `INSERT INTO heartbeat (organisation_id, process, seen_at, clock_difference_ms, queue_answers, jobs, unsaid_reminders, oldest_unsaid_seconds)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
     ON CONFLICT (organisation_id, process) DO UPDATE SET seen_at = excluded.seen_at, clock_difference_ms = excluded.clock_difference_ms,
       queue_answers = excluded.queue_answers, jobs = excluded.jobs, unsaid_reminders = excluded.unsaid_reminders, oldest_unsaid_seconds = excluded.oldest_unsaid_seconds`,
    [
      scope.organisationId,
      `worker ${hostname()} ${process.pid}`.slice(0, 200),
      now,
      own.clockDifferenceMs,
      own.jobs !== null,
      JSON.stringify(own.jobs ?? {}),
      observed.unsaidReminders,
      observed.oldestUnsaidSeconds,
    ],
  )
  await scope.run(`DELETE FROM heartbeat WHERE organisation_id = $1 AND seen_at < $2::timestamptz - interval '1 day'`, [
    scope.organisationId,
    now,
  ])
}

function alarmOf({ dueMessages, unsaidReminders, oldestDueSeconds, oldestUnsaidSeconds }: Observed): Alarm {
  const seconds = Math.round(Math.max(oldestDueSeconds, oldestUnsaidSeconds))
  return { classKey: 'queue_stuck', facts: { kind: 'queue_stuck', messages: dueMessages, reminders: unsaidReminders, seconds } }
}

async function ownState({ database, queue }: WorkerParts): Promise<OwnState> {
  const before = Date.now()
  const theirs = (await database.askTime()).getTime()
  const tooLate = new Promise<null>((done) => setTimeout(() => done(null), QUEUE_ANSWER_MS).unref())
  const jobs = await Promise.race([queue.counts().catch(() => null), tooLate])
  return { clockDifferenceMs: (before + Date.now()) / 2 - theirs, jobs }
}

/**
 * Looks at PostgreSQL, says what it sees in a heartbeat, and where something stands still writes an alarm and sends it
 * itself: a mail that asked the queue's leave would stand in it.
 */
export class Watch {
  private readonly stillSince = new Map<string, number>()

  constructor(private readonly parts: WorkerParts) {}

  /** @returns how many alarms were sent */
  async look(): Promise<number> {
    const { database, clock, log } = this.parts
    const own = await ownState(this.parts)
    let alarms = 0
    for (const organisationId of await database.organisations()) {
      const now = await clock.now()
      const ids = await database.withOrganisationSql(organisationId, async (scope) => {
        const observed = await observe(scope, now)
        await beat(scope, now, own, observed)
        return this.hasStoodStill(organisationId, observed, now) ? writeAlarms(scope, now, alarmOf(observed)) : []
      })
      for (const id of ids) {
        log.error(
          { organisationId, outcome: await send(this.parts, organisationId, id) },
          'what should go out stands still; an alarm was sent',
        )
        alarms += 1
      }
    }
    return alarms
  }

  private hasStoodStill(organisationId: string, observed: Observed, now: Date): boolean {
    if (!standsStill(observed)) {
      this.stillSince.delete(organisationId)
      return false
    }
    const since = this.stillSince.get(organisationId) ?? now.getTime()
    this.stillSince.set(organisationId, since)
    return now.getTime() - since >= LOOKED_ON_MS
  }
}
