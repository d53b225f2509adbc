import { randomBytes } from 'node:crypto'
import { newId } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { tokenHashOf } from '../sessions/identities.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing, Reading } from '../use/work.js'

interface FeedRow extends Record<string, unknown> {
  id: string
  warehouseId: string
  warehouseName: string
  createdAt: string
  lastReadAt: string | null
}

/** 256 bits; RFC 7986 names no least, we hold to 128 and more. */
const SECRET_BYTES = 32

const FEEDS = `SELECT f.id, w.id AS "warehouseId", w.name AS "warehouseName", f.created_at AS "createdAt", f.last_read_at AS "lastReadAt"
  FROM calendar_feed f JOIN warehouse w ON w.organisation_id = $1 AND w.id = f.warehouse_id
  WHERE f.organisation_id = $1 AND f.person_id = $2 AND f.revoked_at IS NULL`

const feedOf = ({ warehouseId, warehouseName, ...feed }: FeedRow) => ({ ...feed, warehouse: { id: warehouseId, name: warehouseName } })

export async function listCalendarFeeds(reading: Reading): Promise<RouteResult<Routes['listCalendarFeeds']>> {
  return { items: (await reading.rows<FeedRow>(`${FEEDS} ORDER BY w.name, f.id`, [reading.who.personId])).map(feedOf) }
}

/** Only the hash of the secret is kept: the address is in this answer and nowhere else. */
export async function createCalendarFeed(
  changing: Changing,
  warehouseId: string,
  publicUrl: string,
): Promise<RouteResult<Routes['createCalendarFeed']>> {
  requireWarehouse(changing.who, warehouseId)
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [warehouseId])
  const { personId } = changing.who
  // Two requests at once: the second waits here, and then ends the first one's address.
  await changing.rows(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [personId])
  await changing.run(
    `UPDATE calendar_feed SET revoked_at = $4 WHERE organisation_id = $1 AND person_id = $2 AND warehouse_id = $3 AND revoked_at IS NULL`,
    [personId, warehouseId, changing.now],
  )
  const id = newId()
  const token = randomBytes(SECRET_BYTES).toString('base64url')
  await changing.run(
    `INSERT INTO calendar_feed (organisation_id, id, person_id, warehouse_id, token_hash, created_at) VALUES ($1, $2, $3, $4, $5, $6)`,
    [id, personId, warehouseId, tokenHashOf(token), changing.now],
  )
  changing.note({ action: 'make calendar address', subjectKind: 'calendar_feed', subjectId: id, after: { warehouseId } })
  const row = await changing.one<FeedRow>('calendar', `${FEEDS} AND f.id = $3`, [personId, id])
  return { ...feedOf(row), url: `${publicUrl.replace(/\/$/, '')}/calendar/${token}.ics` }
}

export async function revokeCalendarFeed(changing: Changing, feedId: string): Promise<{ done: true }> {
  await changing.one(
    'calendar',
    `UPDATE calendar_feed SET revoked_at = $4 WHERE organisation_id = $1 AND id = $2 AND person_id = $3 AND revoked_at IS NULL RETURNING id`,
    [feedId, changing.who.personId, changing.now],
  )
  changing.note({ action: 'end calendar address', subjectKind: 'calendar_feed', subjectId: feedId })
  return { done: true }
}
