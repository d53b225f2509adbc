import { randomBytes } from 'node:crypto'
import { InvalidError, newId } from '@tapewarden/platform'
import type { AccessKey, RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import { tokenHashOf } from '../sessions/identities.js'
import type { Changing, Reading } from '../use/work.js'

/** Lets a program that looks for leaked secrets know one of ours. */
export const KEY_PREFIX = 'twk_'

type KeyRow = AccessKey & Record<string, unknown>
const SELECT = `SELECT k.id, k.name, k.scopes, k.warehouse_ids::text[] AS "warehouseIds", k.hint, p.name AS "createdByName", p.disabled_at IS NOT NULL AS "createdByDisabled",
    k.created_at AS "createdAt", k.expires_at AS "expiresAt", k.last_used_at AS "lastUsedAt",
    CASE WHEN k.revoked_at IS NOT NULL THEN 'revoked' WHEN k.expires_at <= clock_timestamp() THEN 'expired' ELSE 'good' END AS state
  FROM access_key k JOIN person p ON p.organisation_id = k.organisation_id AND p.id = k.created_by WHERE k.organisation_id = $1`

export async function listAccessKeys(reading: Reading): Promise<RouteResult<Routes['listAccessKeys']>> {
  return { items: await reading.rows<KeyRow>(`${SELECT} ORDER BY k.revoked_at IS NOT NULL, k.created_at DESC, k.id LIMIT 500`) }
}

function keyOf(reading: Reading, id: string): Promise<KeyRow> {
  return reading.one<KeyRow>('access key', `${SELECT} AND k.id = $2`, [id])
}

/** @returns the secret, which is kept nowhere: 256 bits, so that a plain hash of it cannot be turned back */
export async function createAccessKey(
  changing: Changing,
  body: RouteBody<Routes['createAccessKey']>,
): Promise<RouteResult<Routes['createAccessKey']>> {
  const warehouseIds = body.warehouseIds && [...new Set(body.warehouseIds)]
  if (warehouseIds) {
    const known = await changing.rows(`SELECT id FROM warehouse WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [warehouseIds])
    if (known.length !== warehouseIds.length)
      throw new InvalidError('UNKNOWN_WAREHOUSE', 'One of these warehouses is not here.', '/warehouseIds')
  }
  const id = newId()
  const secret = KEY_PREFIX + randomBytes(32).toString('base64url')
  await changing.run(
    `INSERT INTO access_key (organisation_id, id, name, scopes, warehouse_ids, secret_hash, hint, created_by, created_at, expires_at)
     SELECT $1, $2, $3, $4::text[], $5::uuid[], $6, $7, $8, t.now, t.now + make_interval(days => $9) FROM (SELECT clock_timestamp() AS now) t`,
    [id, body.name, [...new Set(body.scopes)], warehouseIds, tokenHashOf(secret), secret.slice(-4), changing.who.personId, body.days],
  )
  const key = await keyOf(changing, id)
  changing.note({ action: 'create', subjectKind: 'access_key', subjectId: id, after: key })
  return { key, secret }
}

export async function revokeAccessKey(changing: Changing, id: string): Promise<AccessKey> {
  const before = await keyOf(changing, id)
  await changing.run(`UPDATE access_key SET revoked_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND revoked_at IS NULL`, [
    id,
  ])
  const after = await keyOf(changing, id)
  if (before.state !== 'revoked') changing.note({ action: 'revoke', subjectKind: 'access_key', subjectId: id, before, after })
  return after
}
