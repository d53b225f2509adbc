import { randomBytes } from 'node:crypto'
import { newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes, Tablet, ThisTablet } from '@tapewarden/shared'
import { tokenHashOf } from '../sessions/identities.js'
import type { Changing, Reading } from '../use/work.js'
import { MAY_WORK_THERE } from './tablet-identities.js'

type Row = Tablet & Record<string, unknown>
const SELECT = `SELECT t.id, t.name, jsonb_build_object('id', w.id, 'name', w.name) AS warehouse, p.name AS "madeByName", t.made_at AS "madeAt",
    t.last_seen_at AS "lastSeenAt", t.ended_at AS "endedAt"
  FROM shared_tablet t JOIN warehouse w ON w.organisation_id = t.organisation_id AND w.id = t.warehouse_id
  JOIN person p ON p.organisation_id = t.organisation_id AND p.id = t.made_by WHERE t.organisation_id = $1`

export async function listTablets(reading: Reading): Promise<RouteResult<Routes['listTablets']>> {
  return { items: await reading.rows<Row>(`${SELECT} ORDER BY t.ended_at IS NOT NULL, t.made_at DESC, t.id LIMIT 500`) }
}

/** @returns the secret, which is kept nowhere but on the tablet */
export async function createTablet(
  changing: Changing,
  body: RouteBody<Routes['createTablet']>,
): Promise<RouteResult<Routes['createTablet']>> {
  await changing.one('warehouse', `SELECT id FROM warehouse WHERE organisation_id = $1 AND id = $2`, [body.warehouseId])
  const id = newId()
  const secret = randomBytes(32).toString('base64url')
  await changing.run(
    `INSERT INTO shared_tablet (organisation_id, id, warehouse_id, name, secret_hash, made_by, made_at) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [id, body.warehouseId, body.name.trim(), tokenHashOf(secret), changing.who.personId, changing.now],
  )
  const tablet = await changing.one<Row>('tablet', `${SELECT} AND t.id = $2`, [id])
  changing.note({ action: 'create', subjectKind: 'shared tablet', subjectId: id, after: tablet })
  return { tablet, secret }
}

/** What was typed there and has not been sent yet stays on it, and cannot be sent by its turns any more. */
export async function endTablet(changing: Changing, tabletId: string): Promise<Tablet> {
  const before = await changing.one<Row>('tablet', `${SELECT} AND t.id = $2`, [tabletId])
  await changing.run(`UPDATE shared_tablet SET ended_at = $3 WHERE organisation_id = $1 AND id = $2 AND ended_at IS NULL`, [
    tabletId,
    changing.now,
  ])
  await changing.run(`UPDATE session SET ended_at = clock_timestamp() WHERE organisation_id = $1 AND tablet_id = $2 AND ended_at IS NULL`, [
    tabletId,
  ])
  const after = await changing.one<Row>('tablet', `${SELECT} AND t.id = $2`, [tabletId])
  if (before.endedAt === null) changing.note({ action: 'end', subjectKind: 'shared tablet', subjectId: tabletId, before, after })
  return after
}

export async function thisTablet(reading: Reading): Promise<ThisTablet> {
  const id = reading.who.tablet?.id ?? ''
  const { name, warehouse } = await reading.one<Row>('tablet', `${SELECT} AND t.id = $2`, [id])
  const people = await reading.rows<ThisTablet['people'][number] & Record<string, unknown>>(
    `SELECT p.id, p.name, p.short_code_hash IS NOT NULL AS "hasCode" FROM person p
     JOIN shared_tablet t ON t.organisation_id = p.organisation_id AND t.id = $2
     WHERE p.organisation_id = $1 AND ${MAY_WORK_THERE} AND (p.short_code_hash IS NOT NULL OR p.role IN ('technician', 'instructed'))
     ORDER BY p.short_code_hash IS NULL, p.name, p.id LIMIT 200`,
    [id],
  )
  return { id, name, warehouse, people }
}
