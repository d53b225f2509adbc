import type { RouteResult, Routes } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'
import { workers } from './workers.js'
import { wrongOf } from './wrong.js'

interface WarehouseRow extends Record<string, unknown> {
  id: string
  name: string
  plannedOn: string | null
  changesNotPlanned: number
}

/** Says what should have moved and has not: a process that runs proves nothing. */
export async function health(reading: Reading): Promise<RouteResult<Routes['health']>> {
  const warehouses = await reading.rows<WarehouseRow>(
    `SELECT id, name, planned_on AS "plannedOn", GREATEST(evidence_version - planned_version, 0)::int AS "changesNotPlanned"
     FROM warehouse WHERE organisation_id = $1 ORDER BY name, id`,
  )
  const figures = await reading.one<Record<string, number | null> & { oldestDay: string | null }>(
    'figure',
    `SELECT
       (SELECT EXTRACT(epoch FROM $2::timestamptz - min(send_after))::float8 FROM message
         WHERE organisation_id = $1 AND state IN ('pending', 'claimed', 'handing_over') AND send_after <= $2) AS "pendingSeconds",
       (SELECT count(*)::int FROM message WHERE organisation_id = $1 AND state = 'uncertain') AS uncertain,
       (SELECT count(*)::int FROM message WHERE organisation_id = $1 AND state = 'failed') AS failed,
       (SELECT count(*)::int FROM forecast WHERE organisation_id = $1 AND state = 'cannot_be_computed') AS "notComputed",
       (SELECT min(say_on)::text FROM reminder WHERE organisation_id = $1 AND message_id IS NULL AND dropped_reason IS NULL) AS "oldestDay"`,
    [reading.now],
  )
  const states = await reading.rows<{ state: string; count: number; due: number }>(
    `SELECT state, count(*)::int AS count, count(*) FILTER (WHERE state = 'pending' AND send_after <= $2 AND expires_at > $2)::int AS due
     FROM message WHERE organisation_id = $1 GROUP BY state ORDER BY state`,
    [reading.now],
  )
  const answer = {
    now: reading.now.toISOString(),
    warehouses,
    oldestPendingMessageSeconds: figures.pendingSeconds ?? null,
    oldestUnsaidReminderDay: figures.oldestDay,
    uncertainMessages: figures.uncertain ?? 0,
    failedMessages: figures.failed ?? 0,
    forecastsNotComputed: figures.notComputed ?? 0,
    messagesByState: Object.fromEntries(states.map(({ state, count }) => [state, count])),
    dueMessages: states.reduce((sum, { due }) => sum + due, 0),
    ...(await workers(reading)),
  }
  return { ...answer, wrong: wrongOf(answer) }
}
