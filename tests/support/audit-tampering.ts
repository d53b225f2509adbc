/** Ways to change an audit that somebody with every right in the database has; each undoes itself. */
import { randomBytes, randomUUID } from 'node:crypto'
import type { Client } from 'pg'

export interface Tampering {
  name: string
  /** Changes the entry or link of this number of the chain. @returns what undoes it */
  change(owner: Client, organisationId: string, sequence: number): Promise<() => Promise<void>>
}

type Row = Record<string, unknown>

async function rowsOf(owner: Client, table: string, where: string, values: unknown[]): Promise<Row[]> {
  return (await owner.query<{ row: Row }>(`SELECT to_jsonb(t) AS row FROM ${table} t WHERE ${where}`, values)).rows.map(({ row }) => row)
}

async function put(owner: Client, table: string, rows: readonly Row[]): Promise<void> {
  await owner.query(`INSERT INTO ${table} SELECT * FROM jsonb_populate_recordset(NULL::${table}, $1::jsonb)`, [JSON.stringify(rows)])
}

async function entryAt(owner: Client, organisationId: string, sequence: number): Promise<string> {
  const [link] = await rowsOf(owner, 'audit_link', 'organisation_id = $1 AND sequence = $2', [organisationId, sequence])
  return String(link?.entry_id)
}

/** An UPDATE of one entry, undone by putting the row back as it was. */
function ofEntry(name: string, set: string, value: () => unknown): Tampering {
  return {
    name,
    async change(owner, organisationId, sequence) {
      const id = await entryAt(owner, organisationId, sequence)
      const before = await rowsOf(owner, 'audit_entry', 'id = $1', [id])
      await owner.query(`UPDATE audit_entry SET ${set} WHERE id = $1`, [id, value()])
      return async () => {
        await owner.query('DELETE FROM audit_entry WHERE id = $1 OR id = $2', [id, value === sameId ? lastId : id])
        await put(owner, 'audit_entry', before)
      }
    },
  }
}
let lastId = ''
function sameId(): string {
  lastId = randomUUID()
  return lastId
}

function ofLink(name: string, set: string, value: () => unknown): Tampering {
  return {
    name,
    async change(owner, organisationId, sequence) {
      const where = 'organisation_id = $1 AND sequence = $2'
      const before = await rowsOf(owner, 'audit_link', where, [organisationId, sequence])
      await owner.query(`UPDATE audit_link SET ${set} WHERE ${where}`, [organisationId, sequence, value()])
      return async () => {
        await owner.query('DELETE FROM audit_link WHERE entry_id = $1', [before[0]?.entry_id])
        await put(owner, 'audit_link', before)
      }
    },
  }
}

const removed: Tampering = {
  name: 'entry removed',
  async change(owner, organisationId, sequence) {
    const id = await entryAt(owner, organisationId, sequence)
    const before = await rowsOf(owner, 'audit_entry', 'id = $1', [id])
    await owner.query('DELETE FROM audit_entry WHERE id = $1', [id])
    return () => put(owner, 'audit_entry', before)
  },
}

const removedWithLink: Tampering = {
  name: 'entry and link removed',
  async change(owner, organisationId, sequence) {
    const id = await entryAt(owner, organisationId, sequence)
    const [entries, links] = [await rowsOf(owner, 'audit_entry', 'id = $1', [id]), await rowsOf(owner, 'audit_link', 'entry_id = $1', [id])]
    await owner.query('DELETE FROM audit_link WHERE entry_id = $1', [id])
    await owner.query('DELETE FROM audit_entry WHERE id = $1', [id])
    return async () => {
      await put(owner, 'audit_entry', entries)
      await put(owner, 'audit_link', links)
    }
  },
}

const cutOff: Tampering = {
  name: 'the end cut off',
  async change(owner, organisationId, sequence) {
    const where = 'organisation_id = $1 AND sequence > $2'
    const links = await rowsOf(owner, 'audit_link', where, [organisationId, sequence])
    await owner.query(`DELETE FROM audit_link WHERE ${where}`, [organisationId, sequence])
    return () => put(owner, 'audit_link', links)
  },
}

const added: Tampering = {
  name: 'an entry added beside the chain',
  async change(owner, organisationId) {
    const id = randomUUID()
    await owner.query(
      `INSERT INTO audit_entry (organisation_id, id, at, actor, action, subject_kind) VALUES ($1, $2, '2026-03-02', 'nobody', 'create', 'machine')`,
      [organisationId, id],
    )
    return async () => void (await owner.query('DELETE FROM audit_entry WHERE id = $1', [id]))
  },
}

const swapped: Tampering = {
  name: 'two entries exchanged',
  async change(owner, organisationId, sequence) {
    const [first, second] = [await entryAt(owner, organisationId, sequence), await entryAt(owner, organisationId, sequence + 1)]
    const exchange = async (): Promise<void> => {
      const [a] = await rowsOf(owner, 'audit_entry', 'id = $1', [first])
      const [b] = await rowsOf(owner, 'audit_entry', 'id = $1', [second])
      await owner.query('DELETE FROM audit_entry WHERE id IN ($1, $2)', [first, second])
      await put(owner, 'audit_entry', [
        { ...a, id: second },
        { ...b, id: first },
      ])
    }
    await exchange()
    return exchange
  },
}

export const TAMPERINGS: readonly Tampering[] = [
  ofEntry('actor', 'actor = $2', () => 'somebody else'),
  ofEntry('before', 'before = $2', () => '{"number": -1}'),
  ofEntry('after', 'after = $2', () => '{"number": -1}'),
  ofEntry('after emptied', 'after = NULLIF($2, $2)::jsonb', () => 'x'),
  ofEntry('moment, by a microsecond', 'at = at + $2::interval', () => '1 microsecond'),
  ofEntry('person', 'person_id = $2', () => randomUUID()),
  ofEntry('action', 'action = $2', () => 'nothing'),
  ofEntry('kind of subject', 'subject_kind = $2', () => 'part'),
  ofEntry('subject', 'subject_id = $2', () => randomUUID()),
  ofEntry('request', 'request_id = $2', () => 'none'),
  ofEntry('marked as anonymised', 'redacted_by = $2', () => randomUUID()),
  ofEntry('id', 'id = $2', sameId),
  ofLink('hash', 'hash = $3', () => randomBytes(32)),
  ofLink('hash of the content', 'content_hash = $3', () => randomBytes(32)),
  ofLink('salt', 'salt = $3', () => randomUUID()),
  ofLink('number', 'sequence = sequence + $3::int', () => 5_000_000),
  removed,
  removedWithLink,
  cutOff,
  added,
  swapped,
]
