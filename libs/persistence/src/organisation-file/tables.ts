/** What travels with an organisation, and what stays and why. Every table is in one of the two; a test looks. */
import type { PgScope } from '../pg-scope.js'

const WAY_IN = 'a way of signing in belongs to the installation that made it'
const SEALED = 'its secret is sealed with the key of the installation that made it'
const PASSING = 'work in passing, which begins anew'

export const LEFT_OUT: Readonly<Record<string, string>> = {
  session: WAY_IN,
  account_link: WAY_IN,
  access_key: WAY_IN,
  calendar_feed: WAY_IN,
  second_factor: WAY_IN,
  recovery_code: WAY_IN,
  passkey: WAY_IN,
  shared_tablet: WAY_IN,
  external_identity: WAY_IN,
  used_challenge: WAY_IN,
  webhook: SEALED,
  webhook_delivery: SEALED,
  idempotency_key: PASSING,
  planning_chunk: PASSING,
  heartbeat: PASSING,
  phone_word: PASSING,
}

/** Columns that stay although their table travels: no file that is carried about holds what guesses passwords. */
export const BLANKED: Readonly<Record<string, readonly string[]>> = {
  person: ['password_hash', 'short_code_hash', 'short_code_set_at', 'short_code_wrong', 'short_code_waits_until'],
}

/** Written by nobody but the audit's own role. */
export const CHAIN = ['audit_link', 'audit_head'] as const

export interface Table {
  name: string
  /** Without organisation_id, which stands in the head of the file once. */
  columns: readonly string[]
  /** Of the primary key, in its order. */
  key: readonly string[]
}

interface TableRow extends Record<string, unknown> {
  name: string
  columns: string[]
  key: string[]
  refers: string[]
}

const TABLES = `
  SELECT c.relname::text AS name,
    ARRAY(SELECT a.attname::text FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = '' ORDER BY a.attnum) AS columns,
    ARRAY(SELECT a.attname::text FROM pg_index i, unnest(i.indkey) WITH ORDINALITY AS k(attnum, place) JOIN pg_attribute a ON a.attnum = k.attnum
      WHERE i.indrelid = c.oid AND i.indisprimary AND a.attrelid = c.oid ORDER BY k.place) AS key,
    ARRAY(SELECT DISTINCT r.relname::text FROM pg_constraint k JOIN pg_class r ON r.oid = k.confrelid WHERE k.conrelid = c.oid AND k.contype = 'f' AND r.oid <> c.oid) AS refers
  FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') AND NOT c.relispartition ORDER BY c.relname`

/** Referred to first; where a ring leaves no first, by name. */
function inOrder(tables: readonly TableRow[]): TableRow[] {
  const left = new Map(tables.map((table) => [table.name, table]))
  const sorted: TableRow[] = []
  while (left.size > 0) {
    const free = [...left.values()].find(({ refers }) => !refers.some((name) => left.has(name)))
    const next = free ?? ([...left.values()][0] as TableRow)
    left.delete(next.name)
    sorted.push(next)
  }
  return sorted
}

/** The tables that travel, in an order in which they can be filled. */
export async function travellingTables(scope: PgScope): Promise<Table[]> {
  const found = (await scope.rows<TableRow>(TABLES)).filter(({ name }) => LEFT_OUT[name] === undefined)
  return inOrder(found).map(({ name, columns, key }) => ({
    name,
    key,
    columns: columns.filter((column) => (column !== 'organisation_id' || name === 'organisation') && !BLANKED[name]?.includes(column)),
  }))
}
