import type { SqlDatabase } from '../sql-database.js'
import type { PgScope } from '../pg-scope.js'
import { type Computed, compute, type PlanningMath, type Problem } from './compute.js'
import { dayNumber } from './days.js'
import { type ChunkOfPass, lifeOfPass } from './life-of-pass.js'
import { LocalMoments } from './local-moments.js'
import { readChunk } from './read-chunk.js'
import { readLife } from './read-life.js'
import { machinesOfWarehouse } from './read-machines.js'
import { readWarehouse, type WarehouseFacts } from './read-warehouse.js'
import { linesOfPlan, writeForecasts } from './write-forecasts.js'
import { changedMonths, setEvidenceAside, writeLedger } from './write-ledger.js'
import { writeOccurrences } from './write-occurrences.js'
import { writeReminders } from './write-reminders.js'
import { writePlanningState } from './write-state.js'
import { draftWorkOrders, withdrawFromDrafts } from './write-work-orders.js'

export interface PassRequest {
  organisationId: string
  warehouseId: string
  /** Left out: every machine that stands there. */
  machineIds?: readonly string[]
  /** Which chunk of a pass these are, where it was cut into some; what they share is then worked out once. */
  chunk?: ChunkOfPass
  /** Local date of the warehouse. */
  today: string
  /** The moment by the clock port; only stored, never compared with. */
  now: Date
}

export interface PassResult {
  machines: number
  forecastsChanged: number
  ledgerDaysChanged: number
  opened: number
  redated: number
  superseded: number
  reminders: number
  workOrders: number
  setAside: number
  problems: Problem[]
  /** Statements sent to the database. */
  queries: number
}

/** Machines of one transaction; also the most advisory locks that one takes. */
const CHUNK = 1000

/** Chunks under way at once: while the database works on one, this process computes another. */
const LANES = 2

/** Waits for all, so that nothing still runs when the first fault is thrown. */
async function allOrFirstFault(work: readonly Promise<void>[]): Promise<void> {
  for (const one of await Promise.allSettled(work)) if (one.status === 'rejected') throw one.reason
}

/** Two passes over the same machine go one after the other; the second finds nothing left to do. In one order, so that they never wait for each other. */
function lockMachines(scope: PgScope, machineIds: readonly string[]): Promise<number> {
  return scope.run(
    'SELECT pg_advisory_xact_lock(hashtextextended(id::text, 0)) FROM (SELECT id FROM unnest($1::uuid[]) AS id ORDER BY id) AS m',
    [machineIds],
  )
}

async function write(
  scope: PgScope,
  facts: WarehouseFacts,
  moments: LocalMoments,
  request: PassRequest,
  computed: Computed,
): Promise<PassResult> {
  const today = dayNumber(request.today)
  const place = { warehouseId: facts.warehouseId, today, now: request.now }
  const setAside = await setEvidenceAside(scope, computed.setAside)
  const planned = computed.machines.map(({ row, ledger, plan }) => ({
    row,
    forecasts: linesOfPlan(plan, facts.warehouseId),
    ledger: ledger && changedMonths(row.id, facts.warehouseId, ledger.days, row.ledger_months),
  }))
  const ledgerDaysChanged = await writeLedger(
    scope,
    facts.warehouseId,
    planned.flatMap(({ ledger }) => (ledger ? [ledger] : [])),
  )
  const newForecasts = planned.filter(({ row, forecasts }) => forecasts.digest !== row.forecast_digest)
  const forecastsChanged = await writeForecasts(
    scope,
    facts.warehouseId,
    today,
    newForecasts.map(({ forecasts }) => forecasts),
  )
  const occurrences = await writeOccurrences(
    scope,
    place,
    computed.machines.map(({ plan }) => plan),
  )
  const reminders = await writeReminders(scope, place, occurrences, facts.people)
  await withdrawFromDrafts(scope, occurrences.superseded)
  const workOrders = await draftWorkOrders(scope, { ...place, dayBegins: moments.beginOf(today) }, occurrences.opened, (id) =>
    facts.taskById.get(id),
  )
  const states = planned.filter(({ row, forecasts, ledger }) => ledger !== null || forecasts.digest !== row.forecast_digest)
  await writePlanningState(
    scope,
    states.map(({ row, forecasts, ledger }) => ({
      machine_id: row.id,
      ledger_months: ledger?.digests ?? row.ledger_months,
      forecast_digest: forecasts.digest,
    })),
  )
  return {
    machines: computed.machines.length,
    forecastsChanged,
    ledgerDaysChanged,
    opened: occurrences.opened.length,
    redated: occurrences.redated,
    superseded: occurrences.superseded.length,
    reminders,
    workOrders,
    setAside,
    problems: computed.problems,
    queries: scope.statements,
  }
}

/** What is read once for all chunks of a pass. */
interface Shared {
  life?: ReturnType<typeof readLife>
}

/** One transaction: all of a chunk's effects, or none. */
async function planChunk(
  database: SqlDatabase,
  math: PlanningMath,
  request: PassRequest,
  machineIds: readonly string[],
  shared: Shared,
): Promise<PassResult | null> {
  return database.withOrganisationSql(request.organisationId, async (scope) => {
    await lockMachines(scope, machineIds)
    const facts = await readWarehouse(scope, request.warehouseId, request.today)
    if (!facts) return null
    const moments = new LocalMoments(facts.calendar.zone)
    const today = dayNumber(request.today)
    const rows = await readChunk(scope, facts, moments, machineIds, today)
    shared.life ??= request.chunk ? lifeOfPass(scope, facts, request.today, today, request.chunk) : readLife(scope, facts, today)
    return write(scope, facts, moments, request, compute(math, rows, facts, moments, await shared.life, today))
  })
}

const NOTHING: PassResult = {
  machines: 0,
  forecastsChanged: 0,
  ledgerDaysChanged: 0,
  opened: 0,
  redated: 0,
  superseded: 0,
  reminders: 0,
  workOrders: 0,
  setAside: 0,
  problems: [],
  queries: 0,
}

function add(sum: PassResult, more: PassResult): PassResult {
  const keys = [
    'machines',
    'forecastsChanged',
    'ledgerDaysChanged',
    'opened',
    'redated',
    'superseded',
    'reminders',
    'workOrders',
    'setAside',
    'queries',
  ] as const
  const added = Object.fromEntries(keys.map((key) => [key, sum[key] + more[key]])) as Omit<PassResult, 'problems'>
  return { ...added, problems: [...sum.problems, ...more.problems] }
}

/** Which machines stand in the warehouse, and the version of its evidence that a pass begun now will have seen. */
export async function planningWork(
  database: SqlDatabase,
  organisationId: string,
  warehouseId: string,
): Promise<{ machineIds: string[]; evidenceVersion: number } | null> {
  return database.withOrganisationSql(organisationId, async (scope) => {
    const [row] = await scope.rows<{ evidence_version: number }>(
      'SELECT evidence_version FROM warehouse WHERE organisation_id = $1 AND id = $2',
      [organisationId, warehouseId],
    )
    return row ? { machineIds: await machinesOfWarehouse(scope, warehouseId), evidenceVersion: row.evidence_version } : null
  })
}

/** Notes that a whole pass has seen this version of the evidence on this local day. Never goes back, and writes nothing where it says so already. */
export async function markPlanned(
  database: SqlDatabase,
  request: Pick<PassRequest, 'organisationId' | 'warehouseId' | 'today'>,
  evidenceVersion: number,
): Promise<void> {
  await database.withOrganisationSql(request.organisationId, (scope) =>
    scope.run(
      `UPDATE warehouse SET planned_version = greatest(planned_version, $3), planned_on = greatest(planned_on, $4::date)
       WHERE organisation_id = $1 AND id = $2 AND (planned_version < $3 OR planned_on IS NULL OR planned_on < $4::date)`,
      [request.organisationId, request.warehouseId, evidenceVersion, request.today],
    ),
  )
}

/**
 * Plans machines of one warehouse: evidence to ledger, dates, occurrences, reminders and drafted work orders, a
 * transaction a chunk. Run again, it changes nothing; run twice at once, it has one effect; killed, it leaves whole chunks.
 */
export async function runPlanningPassWith(math: PlanningMath, database: SqlDatabase, request: PassRequest): Promise<PassResult> {
  const work = request.machineIds ? null : await planningWork(database, request.organisationId, request.warehouseId)
  const machineIds = request.machineIds ?? work?.machineIds ?? []
  const chunks: (readonly string[])[] = []
  for (let from = 0; from < machineIds.length; from += CHUNK) chunks.push(machineIds.slice(from, from + CHUNK))
  const shared: Shared = {}
  let result = NOTHING
  const lane = async () => {
    for (let chunk = chunks.shift(); chunk; chunk = chunks.shift()) {
      const more = await planChunk(database, math, request, chunk, shared)
      if (more) result = add(result, more)
    }
  }
  await allOrFirstFault(Array.from({ length: LANES }, lane))
  if (work) await markPlanned(database, request, work.evidenceVersion)
  return result
}
