/** What phones say that they keep: replaced with each word, compared with what has arrived, named when a storage is gone. */
import { NotFoundError } from '@tapewarden/platform'
import type { RouteBody, RouteResult, Routes } from '@tapewarden/shared'
import type { Changing } from '../use/work.js'

interface Kept {
  id: string
  what: string
  madeAt: string
}
interface WordRow extends Record<string, unknown> {
  id: string
  sessionId: string | null
  lastSaidAt: string
  clearedAt: string | null
  kept: Kept[]
}

/** An entry has arrived once any of its traces is here. Keys of requests live 7 days, entries of orders and rounds for good. */
const ARRIVED = `SELECT k.id FROM unnest($2::uuid[]) AS k(id) WHERE
    EXISTS (SELECT 1 FROM work_entry e WHERE e.organisation_id = $1 AND e.id = k.id)
    OR EXISTS (SELECT 1 FROM idempotency_key i WHERE i.organisation_id = $1 AND i.key = k.id::text AND i.status BETWEEN 200 AND 299)`

/** Takes out of the words of other storages what has arrived since; a word that is empty then is forgotten after a while. */
async function dropArrived(changing: Changing, words: readonly WordRow[]): Promise<WordRow[]> {
  const ids = words.flatMap(({ kept }) => kept.map(({ id }) => id))
  if (ids.length === 0) return [...words]
  const arrived = new Set((await changing.rows<{ id: string }>(ARRIVED, [ids])).map(({ id }) => id))
  const left = words.map((word) => ({ ...word, kept: word.kept.filter(({ id }) => !arrived.has(id)) }))
  for (const [index, { id, kept }] of left.entries()) if (kept.length < (words[index]?.kept.length ?? 0)) await putKept(changing, id, kept)
  return left
}

const putKept = (changing: Changing, storageId: string, kept: readonly Kept[]): Promise<number> =>
  changing.run(`UPDATE phone_word SET kept = $4::jsonb WHERE organisation_id = $1 AND id = $2 AND person_id = $3`, [
    storageId,
    changing.who.personId,
    JSON.stringify(kept),
  ])

async function write(changing: Changing, body: RouteBody<Routes['sayKept']>): Promise<void> {
  const { personId, sessionId } = changing.who
  await changing.run(
    `INSERT INTO phone_word (organisation_id, id, person_id, session_id, first_said_at, last_said_at, kept) VALUES ($1, $2, $3, $4, $5, $5, $6::jsonb)
     ON CONFLICT (organisation_id, id, person_id) DO UPDATE SET session_id = EXCLUDED.session_id, last_said_at = EXCLUDED.last_said_at, kept = EXCLUDED.kept, cleared_at = NULL`,
    [body.storageId, personId, sessionId, changing.now, JSON.stringify(body.kept)],
  )
}

const FORGOTTEN_AFTER_DAYS = 90
/** Storages of one person that are compared; whoever has more forgets the oldest. */
const MOST = 30

/**
 * A second storage under one sign-in means that the first was cleared: nobody has two at once in one browser. Under another sign-in
 * nothing is known: that storage may be another phone's, and still there.
 */
export async function sayKept(changing: Changing, body: RouteBody<Routes['sayKept']>): Promise<RouteResult<Routes['sayKept']>> {
  const { personId, sessionId } = changing.who
  await changing.run(
    `DELETE FROM phone_word WHERE organisation_id = $1 AND person_id = $2 AND last_said_at < $3::timestamptz - make_interval(days => $4)`,
    [personId, changing.now, FORGOTTEN_AFTER_DAYS],
  )
  await write(changing, body)
  const others = await changing.rows<WordRow>(
    `SELECT id, session_id AS "sessionId", last_said_at AS "lastSaidAt", cleared_at AS "clearedAt", kept FROM phone_word
     WHERE organisation_id = $1 AND person_id = $2 AND id <> $3 ORDER BY last_said_at DESC LIMIT ${MOST}`,
    [personId, body.storageId],
  )
  const left = await dropArrived(changing, others)
  const ofThisPhone = ({ sessionId: other }: WordRow): boolean => sessionId !== null && other === sessionId
  // Said in every answer until a person has seen it: an answer may be lost on its way.
  const cleared = left.find(ofThisPhone)
  if (cleared?.clearedAt === null) await noteCleared(changing, cleared)
  return {
    cleared: cleared ? { storageId: cleared.id, lastSaidAt: cleared.lastSaidAt } : null,
    missing: left.flatMap((word) =>
      word.kept.map((kept) => ({ ...kept, storageId: word.id, saidAt: word.lastSaidAt, ofThisPhone: ofThisPhone(word) })),
    ),
    serverTime: changing.now.toISOString(),
  }
}

async function noteCleared(changing: Changing, word: WordRow): Promise<void> {
  await changing.run(`UPDATE phone_word SET cleared_at = $4 WHERE organisation_id = $1 AND id = $2 AND person_id = $3`, [
    word.id,
    changing.who.personId,
    changing.now,
  ])
  changing.note({
    action: 'storage of a phone was cleared',
    subjectKind: 'person',
    subjectId: changing.who.personId,
    after: { lastSaidAt: word.lastSaidAt, missing: word.kept },
  })
}

/** @throws NotFoundError for a storage of which this person has no word */
export async function settleKept(changing: Changing, storageId: string, entryIds: readonly string[]): Promise<{ done: true }> {
  const word = await changing.maybeOne<{ kept: Kept[] }>(
    `SELECT kept FROM phone_word WHERE organisation_id = $1 AND id = $2 AND person_id = $3 FOR UPDATE`,
    [storageId, changing.who.personId],
  )
  if (!word) throw new NotFoundError('phone')
  const settled = new Set(entryIds)
  const left = word.kept.filter(({ id }) => !settled.has(id))
  await putKept(changing, storageId, left)
  if (left.length === 0)
    await changing.run(`DELETE FROM phone_word WHERE organisation_id = $1 AND id = $2 AND person_id = $3 AND cleared_at IS NOT NULL`, [
      storageId,
      changing.who.personId,
    ])
  changing.note({
    action: 'settle missing entries',
    subjectKind: 'person',
    subjectId: changing.who.personId,
    after: { seen: word.kept.filter(({ id }) => settled.has(id)) },
  })
  return { done: true }
}
