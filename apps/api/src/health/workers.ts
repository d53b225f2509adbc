import type { RouteResult, Routes } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'

type HealthAnswer = RouteResult<Routes['health']>
type Workers = Pick<HealthAnswer, 'processes' | 'sendingJobs' | 'unsaidReminders' | 'oldestUnsaidSeconds'>

interface BeatRow extends Record<string, unknown> {
  process: string
  seenAt: string
  clockDifferenceMs: number
  queueAnswers: boolean | null
  jobs: Record<string, Record<string, number> | undefined>
  unsaid: number | null
  oldest: number | null
}

/** What a worker said longer ago counts for nothing any more. */
const FRESH_SECONDS = 120
/** Apis say when they were there and how their clocks go; only workers know of the queue and of what waits. */
export const isWorker = (process: string): boolean => process.startsWith('worker ')
/** A job in these states is still to be done. */
const TO_DO = ['waiting', 'active', 'delayed', 'prioritized']

/** What the processes last said of themselves, of the queue and of what waits. */
export async function workers(reading: Reading): Promise<Workers> {
  const rows = await reading.rows<BeatRow>(
    `SELECT process, seen_at AS "seenAt", clock_difference_ms AS "clockDifferenceMs", queue_answers AS "queueAnswers", jobs, unsaid_reminders AS unsaid, oldest_unsaid_seconds AS oldest
     FROM heartbeat WHERE organisation_id = $1 ORDER BY seen_at DESC LIMIT 50`,
  )
  const secondsAgo = ({ seenAt }: BeatRow) => (reading.now.getTime() - Date.parse(seenAt)) / 1000
  const heard = rows.find(({ process }) => isWorker(process))
  const newest = heard && secondsAgo(heard) <= FRESH_SECONDS ? heard : null
  const sending = newest?.queueAnswers ? (newest.jobs.sending ?? {}) : null
  return {
    processes: rows.map((row) => ({
      process: row.process,
      seenAt: row.seenAt,
      secondsAgo: Math.round(secondsAgo(row)),
      clockDifferenceMs: Math.round(row.clockDifferenceMs),
      queueAnswers: row.queueAnswers,
    })),
    sendingJobs: sending && TO_DO.reduce((sum, state) => sum + (sending[state] ?? 0), 0),
    unsaidReminders: newest?.unsaid ?? null,
    oldestUnsaidSeconds: newest?.oldest ?? null,
  }
}
