import type { RouteQuery, RouteResult, Routes } from '@tapewarden/shared'
import { pageOf, readCursor } from '../use/paging.js'
import type { Reading } from '../use/work.js'

type Bounce = RouteResult<Routes['listBounces']>['items'][number]
type BounceRow = Omit<Bounce, 'person'> & Record<string, unknown> & { personId: string; personName: string }

/** Newest first; ids are made in the order of time. */
export async function listBounces(reading: Reading, query: RouteQuery<Routes['listBounces']>): Promise<RouteResult<Routes['listBounces']>> {
  const after = readCursor(query.cursor, ['id'])
  const rows = await reading.rows<BounceRow>(
    `SELECT b.id, p.id AS "personId", p.name AS "personName", b.message_id AS "messageId", b.address, b.kind, b.status_code AS "statusCode", b.diagnostic, b.suppressed,
       b.received_at AS "receivedAt"
     FROM bounce b JOIN person p ON p.organisation_id = $1 AND p.id = b.person_id
     WHERE b.organisation_id = $1 AND ($2::uuid IS NULL OR b.person_id = $2) AND ($3::uuid IS NULL OR b.id < $3) ORDER BY b.id DESC LIMIT $4`,
    [query.personId ?? null, after?.[0] ?? null, query.limit + 1],
  )
  return pageOf(
    rows,
    query.limit,
    (row) => [row.id],
    ({ personId, personName, ...row }) => ({ ...row, person: { id: personId, name: personName } }),
  )
}
