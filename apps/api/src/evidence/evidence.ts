import { ConflictError, NotFoundError } from '@tapewarden/platform'
import {
  type Evidence,
  evidenceItemSchema,
  type EvidenceOutcome,
  type ParsedEvidenceItem,
  type RouteBody,
  type RouteQuery,
  type RouteResult,
  type Routes,
} from '@tapewarden/shared'
import { faultsOf } from '../http/faults.js'
import { pageOf, readCursor } from '../use/paging.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'
import { judgeAgain, takeIn, touchPresentPlaces } from './take-in.js'

type EvidenceRow = Omit<Evidence, 'machine' | 'station'> &
  Record<string, unknown> & { machineId: string | null; labelCode: string | null; stationId: string | null; stationName: string | null }

const FIELDS = `e.id, e.kind, e.warehouse_id AS "warehouseId", e.machine_id AS "machineId", m.label_code AS "labelCode", e.station_id AS "stationId",
    s.name AS "stationName", e.at_time AS at, e.from_date AS "fromDate", e.to_date AS "toDate", e.amount, e.detail, e.source, e.external_id AS "externalId",
    p.name AS "personName", e.state, e.set_aside_code AS "setAsideCode", e.set_aside_reason AS "setAsideReason", e.corrects_id AS "correctsId", e.created_at AS "createdAt"`
const NAMED = `LEFT JOIN machine m ON m.organisation_id = e.organisation_id AND m.id = e.machine_id
  LEFT JOIN station s ON s.organisation_id = e.organisation_id AND s.id = e.station_id
  LEFT JOIN person p ON p.organisation_id = e.organisation_id AND p.id = e.person_id`
const IN_REACH = `e.organisation_id = $1 AND ($2::uuid[] IS NULL OR e.warehouse_id = ANY($2))`

function itemOf({ machineId, labelCode, stationId, stationName, ...row }: EvidenceRow): Evidence {
  return {
    ...row,
    machine: machineId === null ? null : { id: machineId, labelCode: labelCode ?? '' },
    station: stationId === null ? null : { id: stationId, name: stationName ?? '' },
  }
}

/** Newest day first. */
export async function listEvidence(
  reading: Reading,
  query: RouteQuery<Routes['listEvidence']>,
): Promise<RouteResult<Routes['listEvidence']>> {
  const after = readCursor(query.cursor, ['day', 'id'])
  const rows = await reading.rows<EvidenceRow>(
    `WITH e AS (SELECT e.* FROM evidence e WHERE ${IN_REACH} AND ($3::uuid IS NULL OR e.warehouse_id = $3) AND ($4::uuid IS NULL OR e.machine_id = $4)
       AND ($5::text[] IS NULL OR e.state = ANY($5)) AND ($6::text IS NULL OR e.kind = $6)
       AND ($7::date IS NULL OR (e.from_date, e.id) < ($7, $8::uuid))
     ORDER BY e.from_date DESC, e.id DESC LIMIT $9)
     SELECT ${FIELDS} FROM e ${NAMED} ORDER BY e.from_date DESC, e.id DESC`,
    [
      reading.who.warehouseIds,
      query.warehouseId ?? null,
      query.machineId ?? null,
      query.state ?? null,
      query.kind ?? null,
      after?.[0] ?? null,
      after?.[1] ?? null,
      query.limit + 1,
    ],
  )
  return pageOf(rows, query.limit, (row) => [row.fromDate, row.id], itemOf)
}

async function getEvidence(changing: Changing, evidenceId: string): Promise<Evidence> {
  return itemOf(
    await changing.one<EvidenceRow>('evidence', `SELECT ${FIELDS} FROM evidence e ${NAMED} WHERE ${IN_REACH} AND e.id = $3`, [
      changing.who.warehouseIds,
      evidenceId,
    ]),
  )
}

const NOWHERE = '00000000-0000-0000-0000-000000000000'

/** A person or program at a page sees at once that it named nothing we know; only in bulk is that set aside. */
export async function postEvidence(changing: Changing, item: ParsedEvidenceItem, correctsId?: string): Promise<EvidenceOutcome> {
  await requireKnown(changing, item)
  const [outcome] = await takeIn(changing, [item], { source: 'page', fallbackWarehouseId: NOWHERE, ...(correctsId ? { correctsId } : {}) })
  if (outcome?.outcome !== 'duplicate')
    changing.note({ action: 'give evidence', subjectKind: 'evidence', subjectId: outcome?.id ?? null, after: { ...item, outcome } })
  return outcome as EvidenceOutcome
}

async function requireKnown(changing: Changing, item: ParsedEvidenceItem): Promise<void> {
  const machineId = 'machineId' in item ? item.machineId : undefined
  const labelCode = 'labelCode' in item ? item.labelCode : undefined
  const stationId = 'stationId' in item ? item.stationId : undefined
  const reach = changing.who.warehouseIds
  const found =
    machineId !== undefined || labelCode !== undefined
      ? await changing.maybeOne(
          `SELECT m.id FROM machine m LEFT JOIN placement p ON p.organisation_id = m.organisation_id AND p.machine_id = m.id AND p.to_at IS NULL
           WHERE m.organisation_id = $1 AND ($2::uuid[] IS NULL OR p.warehouse_id = ANY($2)) AND (m.id = $3 OR ($3::uuid IS NULL AND m.label_code = $4))`,
          [reach, machineId ?? null, labelCode ?? null],
        )
      : await changing.maybeOne(
          `SELECT id FROM station WHERE organisation_id = $1 AND ($2::uuid[] IS NULL OR warehouse_id = ANY($2)) AND id = $3`,
          [reach, stationId ?? null],
        )
  if (!found) throw new NotFoundError(stationId === undefined ? 'machine' : 'station')
}

export async function postEvidenceInBulk(
  changing: Changing,
  body: RouteBody<Routes['postEvidenceInBulk']>,
): Promise<RouteResult<Routes['postEvidenceInBulk']>> {
  requireWarehouse(changing.who, body.warehouseId)
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [body.warehouseId])
  const parsed = body.items.map((item) => evidenceItemSchema.safeParse(item))
  const good = parsed.flatMap((result) => (result.success ? [result.data] : []))
  const outcomes = await takeIn(changing, good, { source: body.source, fallbackWarehouseId: body.warehouseId })
  let next = 0
  const results = parsed.map((result, index) => {
    if (result.success) return { index, ...(outcomes[next++] as EvidenceOutcome) }
    const errors = faultsOf('body', result.error).map((fault) => ({ ...fault, pointer: `/items/${index}${fault.pointer}` }))
    return {
      index,
      id: null,
      outcome: 'refused' as const,
      code: 'INVALID_REQUEST',
      reason: errors.map((error) => error.message).join('; '),
      errors,
    }
  })
  const count = (outcome: EvidenceOutcome['outcome']) => results.filter((result) => result.outcome === outcome).length
  const counts = { counted: count('counted'), setAside: count('set_aside'), duplicates: count('duplicate'), refused: count('refused') }
  changing.note({
    action: 'give evidence in bulk',
    subjectKind: 'warehouse',
    subjectId: body.warehouseId,
    after: { source: body.source, ...counts },
  })
  return { ...counts, results }
}

async function lockOpen(changing: Changing, evidenceId: string): Promise<Evidence> {
  await changing.rows(`SELECT id FROM evidence WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [evidenceId])
  const before = await getEvidence(changing, evidenceId)
  if (before.state === 'dismissed' || before.state === 'corrected')
    throw new ConflictError('SETTLED_ALREADY', `This was ${before.state} already.`)
  return before
}

async function settle(changing: Changing, before: Evidence, state: 'corrected' | 'dismissed', reason: string): Promise<void> {
  await changing.run(`UPDATE evidence SET state = $3 WHERE organisation_id = $1 AND id = $2`, [before.id, state])
  await judgeAgain(changing, [before.machine?.id ?? null])
  changing.note({ action: state, subjectKind: 'evidence', subjectId: before.id, before, after: { state, reason } })
  changing.datesMayMove(before.warehouseId)
  await touchPresentPlaces(changing, [{ machineId: before.machine?.id ?? null }])
}

export async function correctEvidence(
  changing: Changing,
  evidenceId: string,
  body: RouteBody<Routes['correctEvidence']>,
): Promise<EvidenceOutcome> {
  const before = await lockOpen(changing, evidenceId)
  await settle(changing, before, 'corrected', body.reason)
  return postEvidence(changing, body.replacement, evidenceId)
}

export async function dismissEvidence(changing: Changing, evidenceId: string, reason: string): Promise<Evidence> {
  await settle(changing, await lockOpen(changing, evidenceId), 'dismissed', reason)
  return getEvidence(changing, evidenceId)
}
