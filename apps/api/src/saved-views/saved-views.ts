import { ConflictError, newId } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes, SavedView } from '@tapewarden/shared'
import type { Changing, Reading } from '../use/work.js'

type Row = SavedView & Record<string, unknown>
/** More than a person can tell apart. */
const MOST = 50

export async function listViews(reading: Reading): Promise<RouteResult<Routes['listSavedViews']>> {
  return {
    items: await reading.rows<Row>(
      `SELECT id, place, name, search FROM saved_view WHERE organisation_id = $1 AND person_id = $2 ORDER BY place, lower(name)`,
      [reading.who.personId],
    ),
  }
}

export async function saveView(changing: Changing, body: RouteBody<Routes['saveView']>): Promise<SavedView> {
  const { count } = await changing.one<{ count: number }>(
    'figure',
    `SELECT count(*)::int AS count FROM saved_view WHERE organisation_id = $1 AND person_id = $2`,
    [changing.who.personId],
  )
  if (count >= MOST) throw new ConflictError('TOO_MANY', `You keep ${MOST} views already. Remove one first.`)
  return changing.one<Row>(
    'view',
    `INSERT INTO saved_view (organisation_id, id, person_id, place, name, search, created_at) VALUES ($1, $2, $3, $4, $5, $6, $7)
     ON CONFLICT (organisation_id, person_id, place, lower(name)) DO UPDATE SET search = EXCLUDED.search, name = EXCLUDED.name
     RETURNING id, place, name, search`,
    [newId(), changing.who.personId, body.place, body.name, body.search, changing.now],
  )
}

export async function removeView(changing: Changing, savedViewId: string): Promise<{ done: true }> {
  await changing.one('view', `DELETE FROM saved_view WHERE organisation_id = $1 AND id = $2 AND person_id = $3 RETURNING id`, [
    savedViewId,
    changing.who.personId,
  ])
  return { done: true }
}
