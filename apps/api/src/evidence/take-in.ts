import { newId } from '@tapewarden/platform'
import type { EvidenceOutcome, ParsedEvidenceItem } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'
import { type Fault, faultOf, type Row, rowOf } from './judge.js'
import { KnownThings } from './known-things.js'

interface Kept {
  id: string
  row: Row
}
interface Judged extends Kept {
  externalId: string | null
  fault: Fault | null
}

const SAME = ['kind', 'machineId', 'stationId', 'at', 'fromDate', 'toDate', 'amount'] as const

/** The same piece sent twice. */
const isSame = (a: Row, b: Row): boolean =>
  SAME.every((field) => a[field] === b[field]) &&
  (a.detail.runs ?? null) === (b.detail.runs ?? null) &&
  (a.detail.rollMetres ?? null) === (b.detail.rollMetres ?? null)

/** Those that were here before, by the sender's own id or by (source, external id). */
async function earlierOnes(
  changing: Changing,
  source: string,
  items: readonly ParsedEvidenceItem[],
): Promise<{ byId: Map<string, Kept>; byKey: Map<string, Kept> }> {
  const ids = items.flatMap((item) => (item.id ? [item.id] : []))
  const keys = items.flatMap((item) => (item.externalId ? [item.externalId] : []))
  const byId = new Map<string, Kept>()
  const byKey = new Map<string, Kept>()
  if (ids.length + keys.length === 0) return { byId, byKey }
  // By the ids first and each by its index: as one condition on evidence all of it would be gone through.
  const rows = await changing.rows<Row & { id: string; key: string | null } & Record<string, unknown>>(
    `SELECT e.id, x.key, e.kind, e.machine_id AS "machineId", e.station_id AS "stationId", e.at_time AS at,
       e.from_date AS "fromDate", e.to_date AS "toDate", e.amount, e.detail
     FROM (SELECT sent AS id, NULL AS key FROM unnest($3::uuid[]) AS sent UNION ALL
       SELECT evidence_id, external_id FROM evidence_key WHERE organisation_id = $1 AND source = $2 AND external_id = ANY($4::text[])) AS x
     JOIN evidence e ON e.organisation_id = $1 AND e.id = x.id`,
    [source, ids, keys],
  )
  for (const row of rows) {
    const earlier = { id: row.id, row }
    byId.set(row.id, earlier)
    if (row.key !== null) byKey.set(row.key, earlier)
  }
  return { byId, byKey }
}

export interface Intake {
  source: string
  /** Where an item that names nothing we know is kept. */
  fallbackWarehouseId: string
  correctsId?: string
  /** Nothing is written, or nothing where a piece would be set aside: then the outcomes alone are wanted. */
  judgeOnly?: boolean
  goodOnly?: boolean
}

/**
 * Keeps every piece as given. What was here before is not kept twice; what shares its key and differs is set aside,
 * as is what cannot be true. @returns an outcome an item, in their order
 */
export async function takeIn(changing: Changing, items: readonly ParsedEvidenceItem[], intake: Intake): Promise<EvidenceOutcome[]> {
  // One batch of a source at a time, so that the same piece in two of them meets itself.
  if (!intake.judgeOnly) await changing.rows(`SELECT pg_advisory_xact_lock(hashtextextended($1::text || $2, 7))`, [intake.source])
  const known = await KnownThings.of(changing, items)
  const { byId, byKey } = await earlierOnes(changing, intake.source, items)
  const kept: Judged[] = []
  const keys: Judged[] = []
  const outcomes = items.map((item): EvidenceOutcome => {
    const [machine, station] = [known.machineOf(item), known.stationOf(item)]
    const row = rowOf(item, machine, station, intake.fallbackWarehouseId)
    const sent = item.id ? byId.get(item.id) : undefined
    const earlier = sent ?? (item.externalId ? byKey.get(item.externalId) : undefined)
    if (earlier && (sent || isSame(earlier.row, row)))
      return { id: earlier.id, outcome: 'duplicate', code: 'DUPLICATE', reason: 'The same was here before; it counts once.' }
    const fault = earlier
      ? { code: 'DUPLICATE', reason: `Its source sent something else under ${item.externalId} before. Correct one of the two.` }
      : faultOf(item, row, machine, station, changing.now)
    const id = item.id ?? newId()
    const judged = { id, row, externalId: item.externalId ?? null, fault }
    kept.push(judged)
    if (item.id) byId.set(id, judged)
    if (item.externalId && !earlier) {
      byKey.set(item.externalId, judged)
      keys.push(judged)
    }
    if (!fault && machine && row.at !== null && row.amount !== null) noteReading(machine.readings, Date.parse(row.at), row.amount)
    return fault
      ? { id, outcome: 'set_aside', code: fault.code, reason: fault.reason }
      : { id, outcome: 'counted', code: null, reason: null }
  })
  if (!intake.judgeOnly && !(intake.goodOnly && kept.some(({ fault }) => fault !== null))) await store(changing, kept, keys, intake)
  return outcomes
}

function noteReading(readings: { atMs: number; value: number }[], atMs: number, value: number): void {
  const last = readings.at(-1)
  readings.push({ atMs, value })
  if (last && last.atMs > atMs) readings.sort((a, b) => a.atMs - b.atMs)
}

const detailOf = ({ detail, fromDate, toDate }: Row): string =>
  JSON.stringify(toDate < fromDate ? { ...detail, givenToDate: toDate } : detail)

async function store(changing: Changing, kept: readonly Judged[], keys: readonly Judged[], intake: Intake): Promise<void> {
  if (kept.length === 0) return
  await changing.run(
    `INSERT INTO evidence (organisation_id, id, kind, warehouse_id, machine_id, station_id, at_time, from_date, to_date, amount, detail, source, external_id,
       person_id, state, set_aside_code, set_aside_reason, corrects_id, created_at)
     SELECT $1, r.id, r.kind, r.warehouse_id, r.machine_id, r.station_id, r.at, r.from_date, GREATEST(r.from_date, r.to_date), r.amount, r.detail::jsonb, $2, r.external_id,
       $3, CASE WHEN r.fault_code IS NULL THEN 'counted' ELSE 'set_aside' END, r.fault_code, r.fault_reason, $4, $5
     FROM unnest($6::uuid[], $7::text[], $8::uuid[], $9::uuid[], $10::uuid[], $11::timestamptz[], $12::date[], $13::date[], $14::float8[], $15::text[], $16::text[],
       $17::text[], $18::text[])
       AS r(id, kind, warehouse_id, machine_id, station_id, at, from_date, to_date, amount, detail, external_id, fault_code, fault_reason)`,
    [
      intake.source,
      changing.who.personId,
      intake.correctsId ?? null,
      changing.now,
      kept.map(({ id }) => id),
      kept.map(({ row }) => row.kind),
      kept.map(({ row }) => row.warehouseId),
      kept.map(({ row }) => row.machineId),
      kept.map(({ row }) => row.stationId),
      kept.map(({ row }) => row.at),
      kept.map(({ row }) => row.fromDate),
      kept.map(({ row }) => row.toDate),
      kept.map(({ row }) => row.amount),
      kept.map(({ row }) => detailOf(row)),
      kept.map(({ externalId }) => externalId),
      kept.map(({ fault }) => fault?.code ?? null),
      kept.map(({ fault }) => fault?.reason ?? null),
    ],
  )
  if (keys.length > 0)
    await changing.run(
      `INSERT INTO evidence_key (organisation_id, source, external_id, evidence_id)
       SELECT $1, $2, r.external_id, r.id FROM unnest($3::text[], $4::uuid[]) AS r(external_id, id)`,
      [intake.source, keys.map(({ externalId }) => externalId), keys.map(({ id }) => id)],
    )
  const counted = kept.flatMap(({ row, fault }) => (fault === null ? [row] : []))
  await judgeAgain(
    changing,
    counted.filter((row) => row.kind === 'counter_replaced').map((row) => row.machineId),
  )
  await judgeContradicted(
    changing,
    kept.flatMap(({ row, fault }) => (fault && row.kind === 'counter_reading' ? [row] : [])),
  )
  changing.datesMayMove(...new Set(counted.map((row) => row.warehouseId)))
  await touchPresentPlaces(changing, counted)
}

/** A second reading that does not fit in the same way speaks against the one that it was measured by: the ledger then goes by what most of them agree on. */
async function judgeContradicted(changing: Changing, readings: readonly Row[]): Promise<void> {
  const ids = [...new Set(readings.flatMap(({ machineId }) => (machineId === null ? [] : [machineId])))]
  if (ids.length === 0) return
  const several = await changing.rows<{ id: string }>(
    `SELECT machine_id AS id FROM evidence WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND kind = 'counter_reading'
       AND state = 'set_aside' AND set_aside_code IN ('RUNS_BACKWARDS', 'MORE_THAN_IT_CAN_CUT') GROUP BY 1, set_aside_code HAVING count(*) > 1`,
    [ids],
  )
  const contradicted = new Set(several.map(({ id }) => id))
  await judgeAgain(changing, [...contradicted])
  const rows = readings.filter(({ machineId }) => machineId !== null && contradicted.has(machineId))
  changing.datesMayMove(...new Set(rows.map(({ warehouseId }) => warehouseId)))
  await touchPresentPlaces(changing, rows)
}

/** A machine that has moved since has its dates where it stands now. */
export async function touchPresentPlaces(changing: Changing, rows: readonly { machineId: string | null }[]): Promise<void> {
  const ids = [...new Set(rows.flatMap((row) => (row.machineId ? [row.machineId] : [])))]
  if (ids.length === 0) return
  const places = await changing.rows<{ id: string }>(
    `SELECT DISTINCT warehouse_id AS id FROM placement WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND to_at IS NULL`,
    [ids],
  )
  changing.datesMayMove(...places.map((place) => place.id))
}

/** What was set aside for what its station did not say, or said wrongly: likewise. */
export async function judgeStationAgain(changing: Changing, stationId: string): Promise<void> {
  await changing.run(
    `UPDATE evidence SET state = 'counted', set_aside_code = NULL, set_aside_reason = NULL
     WHERE organisation_id = $1 AND station_id = $2 AND state = 'set_aside' AND set_aside_code IN ('NO_STRIPS_PER_CARTON', 'MORE_THAN_IT_CAN_CUT')`,
    [stationId],
  )
}

/** What was set aside because the machine, or any at that station, was not there then: likewise. */
export async function judgePresenceAgain(changing: Changing, machineId: string, stationId: string | null): Promise<void> {
  for (const [column, id] of [
    ['machine_id', machineId],
    ['station_id', stationId],
  ] as const)
    if (id !== null)
      await changing.run(
        `UPDATE evidence SET state = 'counted', set_aside_code = NULL, set_aside_reason = NULL
         WHERE organisation_id = $1 AND ${column} = $2 AND state = 'set_aside' AND set_aside_code IN ('NOT_PLACED_THEN', 'NOT_IN_SERVICE')`,
        [id],
      )
}

/** What was set aside for what the type of its machine said: likewise. */
export async function judgeTypeAgain(changing: Changing, machineTypeId: string): Promise<void> {
  await changing.run(
    `WITH of_type AS (SELECT id FROM machine WHERE organisation_id = $1 AND machine_type_id = $2)
     UPDATE evidence SET state = 'counted', set_aside_code = NULL, set_aside_reason = NULL
     WHERE organisation_id = $1 AND state = 'set_aside' AND set_aside_code IN ('NO_COUNTER', 'RUNS_BACKWARDS', 'MORE_THAN_IT_CAN_CUT')
       AND (machine_id IN (SELECT id FROM of_type) OR station_id IN (SELECT p.station_id FROM placement p JOIN of_type ON of_type.id = p.machine_id WHERE p.organisation_id = $1))`,
    [machineTypeId],
  )
}

/** What was set aside because it did not fit its neighbours may fit now: it counts again until the ledger has judged it anew. */
export async function judgeAgain(changing: Changing, machineIds: readonly (string | null)[]): Promise<void> {
  const ids = machineIds.filter((id) => id !== null)
  if (ids.length === 0) return
  await changing.run(
    `UPDATE evidence SET state = 'counted', set_aside_code = NULL, set_aside_reason = NULL
     WHERE organisation_id = $1 AND machine_id = ANY($2::uuid[]) AND state = 'set_aside' AND set_aside_code IN ('RUNS_BACKWARDS', 'MORE_THAN_IT_CAN_CUT')`,
    [ids],
  )
}
