/** An organisation as a file: lines of text, each row as PostgreSQL says it in JSON, the last line with the checksum of all before it. */
import { createHash } from 'node:crypto'
import { Readable, type Writable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { createGzip } from 'node:zlib'
import { escapeIdentifier } from 'pg'
import type { Database } from '../database.js'
import type { PgScope } from '../pg-scope.js'
import { type Table, travellingTables } from './tables.js'

export const FORMAT = 'tapewarden organisation'
export const FORMAT_VERSION = 1
/** Rows that are asked for at once. */
const FETCH = 2000

/** Lines about the file begin with this, rows with a brace. */
export const ABOUT = '#'

function selectOf({ name, columns, key }: Table): string {
  const list = columns.map(escapeIdentifier).join(', ')
  const own = name === 'organisation' ? 'id' : 'organisation_id'
  // In the order of the chain, so that whoever reads the file reads the history as it was.
  const order = key.map(escapeIdentifier).join(', ')
  return `SELECT row_to_json(r)::text AS line FROM (SELECT ${list} FROM ${escapeIdentifier(name)} WHERE ${own} = $1 ORDER BY ${order}) r`
}

async function* rowsOf(scope: PgScope, table: Table): AsyncGenerator<string> {
  await scope.run(`DECLARE organisation_file NO SCROLL CURSOR FOR ${selectOf(table)}`, [scope.organisationId])
  for (;;) {
    const rows = await scope.arrays<[string]>(`FETCH ${FETCH} FROM organisation_file`)
    if (rows.length > 0) yield rows.map(([line]) => `${line}\n`).join('')
    if (rows.length < FETCH) break
  }
  await scope.run('CLOSE organisation_file')
}

/** @yields pieces of text, each of whole lines */
export async function* organisationLines(scope: PgScope, madeAt: Date): AsyncGenerator<string> {
  const hash = createHash('sha256')
  let rows = 0
  const counted = (text: string): string => {
    hash.update(text)
    return text
  }
  const about = (what: object): string => `${ABOUT}${JSON.stringify(what)}\n`
  await scope.run(`SET LOCAL TimeZone = 'UTC'`)
  const [organisation] = await scope.rows<{ name: string }>('SELECT name FROM organisation WHERE id = $1', [scope.organisationId])
  yield counted(
    about({
      format: FORMAT,
      version: FORMAT_VERSION,
      organisationId: scope.organisationId,
      name: organisation?.name ?? '',
      madeAt: madeAt.toISOString(),
    }),
  )
  for (const table of await travellingTables(scope)) {
    yield counted(about({ table: table.name, columns: table.columns }))
    for await (const text of rowsOf(scope, table)) {
      rows += text.split('\n').length - 1
      yield counted(text)
    }
  }
  yield about({ end: true, rows, sha256: hash.digest('hex') })
}

/** All of it as of one moment, however long it takes; packed. Ends early, and lets go of the database, when nobody reads any more. */
export async function writeOrganisation(database: Database, organisationId: string, madeAt: Date, to: Writable): Promise<void> {
  await database.withOrganisationSnapshot(organisationId, async (scope) => {
    await pipeline(Readable.from(organisationLines(scope, madeAt)), createGzip(), to)
  })
}
