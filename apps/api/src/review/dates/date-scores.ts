/** How good the own dates have been, from what the nightly look back wrote. */
import { type Clustered, clusteredMean } from '@tapewarden/scheduling'
import type { DateScores, Estimate, RouteQuery, RouteResult, Routes, ScoredDate, ScoredTriggerKind } from '@tapewarden/shared'
import { cursorOf, readCursor } from '../../use/paging.js'
import { requireWarehouse } from '../../use/reach.js'
import type { Reading } from '../../use/work.js'
import { FEWEST } from '../estimates.js'
import { scoreSentences, UNSEEN } from './date-words.js'

interface ScoreRow extends Record<string, unknown> {
  machineId: string
  trigger: ScoredTriggerKind
  below: number
  above: number
  /** True day − likely day; null: the likely day lay further ahead than the forecast reaches. */
  daysLate: number | null
  widthDays: number | null
}

/** $2 reach, $3 warehouse, $4 machine type. A warehouse is where the machine stood when it was looked back. */
const SCORED = `FROM scored_date s JOIN machine m ON m.organisation_id = s.organisation_id AND m.id = s.machine_id
  JOIN service_task t ON t.organisation_id = s.organisation_id AND t.id = s.service_task_id
  WHERE s.organisation_id = $1 AND s.early_on IS NOT NULL AND ($2::uuid[] IS NULL OR s.warehouse_id = ANY($2))
    AND ($3::uuid IS NULL OR s.warehouse_id = $3) AND ($4::uuid IS NULL OR m.machine_type_id = $4)`

interface Scope {
  warehouseId?: string | undefined
  machineTypeId?: string | undefined
}
function scopeOf(reading: Reading, { warehouseId, machineTypeId }: Scope): [readonly string[] | null, string | null, string | null] {
  if (warehouseId !== undefined) requireWarehouse(reading.who, warehouseId)
  return [reading.who.warehouseIds, warehouseId ?? null, machineTypeId ?? null]
}

const cut = (share: number | null): number | null => (share === null ? null : Math.min(1, Math.max(0, share)))

function estimateOf(shares: readonly number[], machines: readonly string[], trigger: ScoredTriggerKind): Estimate {
  const n = shares.length
  const reason =
    n >= FEWEST
      ? null
      : (UNSEEN[trigger] ?? (n === 0 ? 'None has come true yet.' : `Only ${n} have come true so far; at least ${FEWEST} are needed.`))
  if (reason !== null) return { value: null, low: null, high: null, n, hiddenReason: reason }
  // Dates of one machine are alike: its evidence was good or poor for all of them.
  const { value, low, high }: Clustered = clusteredMean(shares, machines)
  return { value, low: cut(low), high: cut(high), n, hiddenReason: null }
}

function medianOf(values: readonly (number | null)[]): number | null {
  const known = values.filter((value) => value !== null).sort((a, b) => a - b)
  if (known.length < FEWEST) return null
  const middle = known.length >> 1
  const upper = known[middle] as number
  return known.length % 2 === 1 ? upper : (upper + (known[middle - 1] as number)) / 2
}

function scoreOf(trigger: ScoredTriggerKind, rows: readonly ScoreRow[]): DateScores['scores'][number] {
  const machines = rows.map(({ machineId }) => machineId)
  const estimate = (of: (row: ScoreRow) => number) => estimateOf(rows.map(of), machines, trigger)
  return {
    trigger,
    between: estimate(({ below, above }) => 1 - below - above),
    belowEarly: estimate(({ below }) => below),
    aboveLate: estimate(({ above }) => above),
    medianDaysLate: medianOf(rows.map(({ daysLate }) => daysLate)),
    medianWidthDays: medianOf(rows.map(({ widthDays }) => widthDays)),
  }
}

const TRIGGERS = ['usage', 'wear', 'life'] as const

export async function dateScores(reading: Reading, query: RouteQuery<Routes['dateScores']>): Promise<DateScores> {
  const scope = scopeOf(reading, query)
  const rows = await reading.rows<ScoreRow>(
    `SELECT s.machine_id AS "machineId", s.trigger_kind AS trigger, s.share_below AS below, s.share_above AS above,
       s.true_on - s.likely_on AS "daysLate", s.late_on - s.early_on AS "widthDays" ${SCORED}`,
    scope,
  )
  const looked = await reading.maybeOne<{ on: string | null }>(
    `SELECT min(COALESCE(dates_scored_on::text, '')) AS on FROM warehouse WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR id = ANY($2)) AND ($3::uuid IS NULL OR id = $3)`,
    scope.slice(0, 2),
  )
  const workedOutOn = looked?.on || null
  const scores = TRIGGERS.map((trigger) =>
    scoreOf(
      trigger,
      rows.filter((row) => row.trigger === trigger),
    ),
  )
  return { scores, workedOutOn, sentences: scoreSentences(scores, workedOutOn) }
}

interface DateRow extends Record<string, unknown> {
  machineId: string
  labelCode: string
  taskId: string
  taskName: string
  trigger: ScoredTriggerKind
  doneOn: string
  earlyOn: string
  likelyOn: string | null
  lateOn: string | null
  trueOn: string
}

function placeIn({ earlyOn, lateOn, trueOn }: DateRow): ScoredDate['place'] {
  if (trueOn < earlyOn) return 'before_early'
  return lateOn !== null && trueOn > lateOn ? 'after_late' : 'between'
}

export async function listScoredDates(
  reading: Reading,
  query: RouteQuery<Routes['listScoredDates']>,
): Promise<RouteResult<Routes['listScoredDates']>> {
  const after = readCursor(query.cursor, ['day', 'id', 'id'])
  const rows = await reading.rows<DateRow>(
    `SELECT m.id AS "machineId", m.label_code AS "labelCode", t.id AS "taskId", COALESCE((SELECT pt.name FROM plan_task pt WHERE pt.organisation_id = t.organisation_id
         AND pt.service_task_id = t.id ORDER BY pt.id DESC LIMIT 1), t.key) AS "taskName", s.trigger_kind AS trigger,
       s.done_on::text AS "doneOn", s.early_on::text AS "earlyOn", s.likely_on::text AS "likelyOn", s.late_on::text AS "lateOn", s.true_on::text AS "trueOn" ${SCORED}
       AND ($5::text IS NULL OR s.trigger_kind = $5) AND ($6::text IS NULL OR (s.done_on, s.machine_id, s.service_task_id) < ($6::date, $7::uuid, $8::uuid))
     ORDER BY s.done_on DESC, s.machine_id DESC, s.service_task_id DESC LIMIT $9`,
    [...scopeOf(reading, query), query.trigger ?? null, after?.[0] ?? null, after?.[1] ?? null, after?.[2] ?? null, query.limit + 1],
  )
  const shown = rows.slice(0, query.limit)
  const last = shown.at(-1)
  return {
    items: shown.map((row) => ({
      machine: { id: row.machineId, labelCode: row.labelCode },
      taskName: row.taskName,
      trigger: row.trigger,
      doneOn: row.doneOn,
      earlyOn: row.earlyOn,
      likelyOn: row.likelyOn,
      lateOn: row.lateOn,
      trueOn: row.trueOn,
      place: placeIn(row),
    })),
    nextCursor: rows.length > query.limit && last ? cursorOf([last.doneOn, last.machineId, last.taskId]) : null,
  }
}
