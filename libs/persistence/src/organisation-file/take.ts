/** Takes an organisation in from its file: all of it or nothing, under the same guards as everything else. */
import { newId } from '@tapewarden/platform'
import { escapeIdentifier } from 'pg'
import { verifyAudit } from '../audit/verify.js'
import type { Database } from '../database.js'
import type { PgScope } from '../pg-scope.js'
import { checkFile, type FileHead, FileRefusedError, type Piece, piecesOf } from './read.js'
import { travellingTables } from './tables.js'

export interface Taken extends FileHead {
  rows: number
  auditEntries: number
}

const asJson = ({ rows }: Piece): string => `[${rows.join(',')}]`

async function insert(scope: PgScope, piece: Piece): Promise<number> {
  const name = escapeIdentifier(piece.table)
  const columns = piece.columns.map(escapeIdentifier)
  const [into, from] =
    piece.table === 'organisation'
      ? [columns, columns]
      : [
          ['organisation_id', ...columns],
          ['$2::uuid', ...columns],
        ]
  const text = `INSERT INTO ${name} (${into.join(', ')}) SELECT ${from.join(', ')} FROM jsonb_populate_recordset(NULL::${name}, $1::jsonb)`
  return scope.run(text, piece.table === 'organisation' ? [asJson(piece)] : [asJson(piece), scope.organisationId])
}

async function takeHead(scope: PgScope, piece: Piece): Promise<number> {
  const head = `SELECT audit_take_head(h.sequence, h.hash) FROM jsonb_populate_recordset(NULL::audit_head, $1::jsonb) h`
  await scope.run(head, [asJson(piece)])
  return piece.rows.length
}

async function takeLinks(scope: PgScope, piece: Piece): Promise<number> {
  await scope.run('SELECT audit_take_links($1::jsonb)', [asJson(piece)])
  return piece.rows.length
}

/** Names of tables and columns come from the file: only those that are here are taken, and none that stays. */
async function refuseUnknown(scope: PgScope): Promise<(piece: Piece) => void> {
  const known = new Map((await travellingTables(scope)).map(({ name, columns }) => [name, new Set(columns)]))
  return ({ table, columns }) => {
    const here = known.get(table)
    const strange = here ? columns.find((column) => !here.has(column)) : table
    if (strange !== undefined)
      throw new FileRefusedError(
        `This file knows ${here ? `${table}.${strange}` : `a table ${table}`}, which this installation does not: bring it to the newer version first.`,
      )
  }
}

async function takeAll(scope: PgScope, path: string): Promise<number> {
  const refuse = await refuseUnknown(scope)
  /** The end of the chain is said last: after it nothing can be put into it. */
  const heads: Piece[] = []
  let rows = 0
  for await (const piece of piecesOf(path)) {
    refuse(piece)
    if (piece.table === 'audit_head') heads.push(piece)
    else rows += await (piece.table === 'audit_link' ? takeLinks(scope, piece) : insert(scope, piece))
  }
  for (const piece of heads) rows += await takeHead(scope, piece)
  return rows
}

/** Whoever sent mails where the organisation came from may have gone on: what waited there is never sent here as new. */
async function settleMessages(scope: PgScope): Promise<void> {
  await scope.run(
    `UPDATE message SET state = CASE class WHEN 'account' THEN 'expired' ELSE 'uncertain' END, lease_until = NULL,
       last_error = 'Taken over from a file: it may have been sent where it came from.'
     WHERE organisation_id = $1 AND state IN ('pending', 'claimed', 'handing_over')`,
    [scope.organisationId],
  )
}

/** Says in the words of the one who carries it over why the database refused. */
function inWords(error: unknown): unknown {
  const { code, constraint } = error as { code?: string; constraint?: string }
  if (code === '23505' && constraint === 'person_email_key')
    return new FileRefusedError(
      'Somebody of another organisation here has the mail address of one of these people. Change one of the two first.',
    )
  if (code === '23505')
    return new FileRefusedError(`Something that may be there once on an installation is there already (${constraint ?? ''}).`)
  if (/^(22|23)/.test(code ?? '')) return new FileRefusedError(`What this file says does not fit together: ${(error as Error).message}.`)
  return error
}

/**
 * The organisation keeps its id and every row its own: the history's chain is made over them, and printed labels name them.
 * @param actor who carried it over, for the history
 * @throws FileRefusedError where the file was changed, the organisation is here already, or its history does not hold
 */
export async function takeOrganisation(database: Database, path: string, actor: string): Promise<Taken> {
  const head = await checkFile(path)
  const { organisationId } = head
  const done = await database
    .withOrganisationSql(organisationId, async (scope) => {
      await scope.run(`SET LOCAL TimeZone = 'UTC'`)
      await scope.run('SET CONSTRAINTS ALL DEFERRED')
      if ((await scope.rows('SELECT 1 FROM organisation WHERE id = $1', [organisationId])).length > 0)
        throw new FileRefusedError('This organisation is here already. It is taken in whole or not at all; nothing is merged.')
      const rows = await takeAll(scope, path)
      const { entries, faults } = await verifyAudit(scope)
      if (faults.length > 0) throw new FileRefusedError(`The history in this file does not hold: ${faults[0]?.why}.`)
      await settleMessages(scope)
      return { rows, auditEntries: entries }
    })
    .catch((error: unknown) => {
      throw inWords(error)
    })
  await database.withOrganisationSql(organisationId, (scope) =>
    scope.run(
      `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind, subject_id, after)
       VALUES ($1, $2, clock_timestamp(), $3, 'take over from a file', 'organisation', $1, $4)`,
      [organisationId, newId(), actor, JSON.stringify({ madeAt: head.madeAt, rows: done.rows })],
    ),
  )
  return { ...head, ...done }
}
