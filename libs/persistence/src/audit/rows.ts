import type { PgScope } from '../pg-scope.js'

/** A link with what its entry is now. */
export interface Linked {
  sequence: number
  entryId: string
  contentHash: Buffer
  salted: boolean
  hash: Buffer
  /** null: the entry is gone. */
  entry: { fixed: string; content: string; redactedBy: string | null } | null
}

/** The entry that tells of an anonymisation: where it stands, and what it says each entry became. */
export interface Redaction {
  action: string
  sequence: number | null
  hashes: Record<string, string>
}

// Written out here once more: the database's own functions could have been changed together with the rows.
const FIXED = `jsonb_build_array(e.organisation_id, e.id, to_char(e.at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US'), e.person_id, e.action, e.subject_kind, e.subject_id, e.request_id)::text`

interface LinkRow extends Record<string, unknown> {
  sequence: number
  entryId: string
  contentHash: Buffer
  salt: string | null
  hash: Buffer
}
interface EntryRow extends Record<string, unknown> {
  id: string
  fixed: string
  content: string
  redactedBy: string | null
}

/** Two questions by key instead of one join: a join is slow where nothing was counted yet. */
export async function readLinked(scope: PgScope, after: number, end: number, most: number): Promise<Linked[]> {
  const links = await scope.rows<LinkRow>(
    `SELECT sequence, entry_id AS "entryId", content_hash AS "contentHash", salt, hash FROM audit_link
     WHERE organisation_id = $1 AND sequence > $2 AND sequence <= $3 ORDER BY sequence LIMIT $4`,
    [scope.organisationId, after, end, most],
  )
  const entries = await scope.rows<EntryRow>(
    `SELECT e.id, ${FIXED} AS fixed, jsonb_build_array(a.salt, e.actor, e.before, e.after)::text AS content, e.redacted_by AS "redactedBy"
     FROM unnest($2::uuid[], $3::uuid[]) AS a(id, salt) JOIN audit_entry e ON e.organisation_id = $1 AND e.id = a.id`,
    [scope.organisationId, links.map(({ entryId }) => entryId), links.map(({ salt }) => salt)],
  )
  const byId = new Map(entries.map((entry) => [entry.id, entry]))
  return links.map(({ salt, ...link }) => ({ ...link, salted: salt !== null, entry: byId.get(link.entryId) ?? null }))
}

export async function readRedactions(scope: PgScope, linked: readonly Linked[]): Promise<Map<string, Redaction>> {
  const ids = [...new Set(linked.flatMap(({ entry }) => (entry?.redactedBy ? [entry.redactedBy] : [])))]
  if (ids.length === 0) return new Map()
  const rows = await scope.rows<{ id: string; action: string; sequence: number | null; hashes: Record<string, string> | null }>(
    `SELECT e.id, e.action, (SELECT l.sequence FROM audit_link l WHERE l.organisation_id = $1 AND l.entry_id = e.id) AS sequence, e.after -> 'redacted' AS hashes
     FROM audit_entry e WHERE e.organisation_id = $1 AND e.id = ANY($2::uuid[])`,
    [scope.organisationId, ids],
  )
  return new Map(rows.map(({ id, hashes, ...rest }) => [id, { ...rest, hashes: hashes ?? {} }]))
}

/** Entries that stand in no chain. */
export async function readUnlinked(scope: PgScope): Promise<string[]> {
  const rows = await scope.rows<{ id: string }>(
    `SELECT e.id FROM audit_entry e WHERE e.organisation_id = $1
       AND NOT EXISTS (SELECT 1 FROM audit_link l WHERE l.organisation_id = e.organisation_id AND l.entry_id = e.id) LIMIT 1000`,
    [scope.organisationId],
  )
  return rows.map(({ id }) => id)
}

export async function readHead(scope: PgScope): Promise<{ sequence: number; hash: Buffer } | null> {
  const rows = await scope.rows<{ sequence: number; hash: Buffer }>('SELECT sequence, hash FROM audit_head WHERE organisation_id = $1', [
    scope.organisationId,
  ])
  return rows[0] ?? null
}
