import { setTimeout as wait } from 'node:timers/promises'
import { type Client, DatabaseError } from 'pg'
import type { MigrationFile } from './files.js'

/** Any fixed number: 'tape' in ASCII. */
const LOCK = 0x74617065
const LOCK_WAIT_MS = 120_000
const TABLE = 'tapewarden_migrations.applied'

export class MigrationError extends Error {}

interface Applied {
  number: number
  name: string
  sha256: string
}

/**
 * Applies what is not applied yet, one transaction a file, while others go on: a file that finds its tables taken steps back. Two at once: the second waits, then finds nothing to do.
 * @returns the names of the files applied now
 * @throws MigrationError for a file that was edited, is missing or comes out of order, and for SQL that fails (file and line)
 */
export async function migrate(client: Client, files: readonly MigrationFile[]): Promise<string[]> {
  await takeLock(client)
  try {
    await client.query(`CREATE SCHEMA IF NOT EXISTS tapewarden_migrations`)
    await client.query(
      `CREATE TABLE IF NOT EXISTS ${TABLE} (number integer PRIMARY KEY, name text NOT NULL, sha256 text NOT NULL, applied_at timestamptz NOT NULL DEFAULT now())`,
    )
    const { rows } = await client.query<Applied>(`SELECT number, name, sha256 FROM ${TABLE} ORDER BY number`)
    const todo = pending(files, rows)
    for (const file of todo) await applyOne(client, file)
    return todo.map((file) => file.name)
  } finally {
    await client.query('SELECT pg_advisory_unlock($1)', [LOCK])
  }
}

/** A blocking lock would deadlock with CREATE INDEX CONCURRENTLY, which waits for every open statement. */
async function takeLock(client: Client): Promise<void> {
  const until = Date.now() + LOCK_WAIT_MS
  for (;;) {
    const { rows } = await client.query<{ taken: boolean }>('SELECT pg_try_advisory_lock($1) AS taken', [LOCK])
    if (rows[0]?.taken) return
    if (Date.now() > until) throw new MigrationError('Another migration has been running for two minutes; this one gave up waiting.')
    await wait(100)
  }
}

/** Checks what was applied against the files; what is left is to be applied. */
export function pending(files: readonly MigrationFile[], applied: readonly Applied[]): MigrationFile[] {
  const byNumber = new Map(files.map((file) => [file.number, file]))
  for (const { number, name, sha256 } of applied) {
    const file = byNumber.get(number)
    if (!file) throw new MigrationError(`${name} was applied to this database, but the file is missing.`)
    if (file.name !== name || file.sha256 !== sha256)
      throw new MigrationError(`${file.name} was edited after it was applied (as ${name}). Add a new file instead.`)
  }
  const last = applied.at(-1)?.number ?? 0
  const done = new Set(applied.map((one) => one.number))
  const todo = files.filter((file) => !done.has(file.number))
  for (const file of todo)
    if (file.number < last)
      throw new MigrationError(`${file.name} comes before ${applied.at(-1)?.name}, which is applied already. Give it a higher number.`)
  return todo
}

/**
 * Whoever comes after a change that waits for its lock waits behind it: so it waits no longer than this, steps back and comes again.
 * Half of PostgreSQL's own patience with a deadlock (1 s), so that it is never a request that is ended for it.
 */
const LOCK_TIMEOUT = '500ms'
const STEP_BACK_MS = 1000
const TRIES = 120
/** lock_not_available, deadlock_detected. */
const STEPS_BACK = new Set(['55P03', '40P01'])

async function applyOne(client: Client, file: MigrationFile): Promise<void> {
  for (let tries = 1; ; tries++) {
    try {
      await tryOne(client, file)
      return
    } catch (error) {
      if (!file.inTransaction || tries === TRIES || !STEPS_BACK.has((error as { code?: string }).code ?? '')) throw describe(file, error)
      await wait(STEP_BACK_MS)
    }
  }
}

async function tryOne(client: Client, file: MigrationFile): Promise<void> {
  const record = () =>
    client.query(`INSERT INTO ${TABLE} (number, name, sha256) VALUES ($1, $2, $3)`, [file.number, file.name, file.sha256])
  try {
    if (!file.inTransaction) {
      for (const { text, line } of statements(file.text)) await runAt(client, text, line)
      await record()
      return
    }
    await client.query('BEGIN')
    await client.query(`SET LOCAL lock_timeout = '${LOCK_TIMEOUT}'`)
    await client.query(file.text)
    await record()
    await client.query('COMMIT')
  } catch (error) {
    if (file.inTransaction) await client.query('ROLLBACK')
    throw error
  }
}

class AtLine extends Error {
  constructor(
    readonly line: number,
    readonly reason: Error,
  ) {
    super(reason.message)
  }
}

async function runAt(client: Client, text: string, line: number): Promise<void> {
  try {
    await client.query(text)
  } catch (error) {
    throw new AtLine(line, error as Error)
  }
}

/** Files without a transaction hold plain statements, each ending with ';' at a line's end. */
function statements(text: string): { text: string; line: number }[] {
  const found: { text: string; line: number }[] = []
  let from = 0
  for (const match of text.matchAll(/;[ \t]*$/gm)) {
    const piece = text.slice(from, match.index + 1)
    found.push({ text: piece, line: text.slice(0, from + (/\S/.exec(piece)?.index ?? 0)).split('\n').length })
    from = match.index + match[0].length
  }
  return found
}

function describe(file: MigrationFile, error: unknown): MigrationError {
  const reason = error instanceof AtLine ? error.reason : (error as Error)
  const position = reason instanceof DatabaseError ? Number(reason.position) : Number.NaN
  const line = error instanceof AtLine ? error.line : Number.isFinite(position) ? file.text.slice(0, position).split('\n').length : null
  const detail = reason instanceof DatabaseError && reason.where ? ` (${reason.where.split('\n')[0]})` : ''
  return new MigrationError(`${file.name}${line === null ? '' : `, line ${line}`}: ${reason.message}${detail}`)
}
