/** Reads the chain of an organisation's audit from its first link to its last and says everything that does not fit. */
import { createHash } from 'node:crypto'
import type { PgScope } from '../pg-scope.js'
import { type Linked, readHead, readLinked, readRedactions, readUnlinked, type Redaction } from './rows.js'

export interface AuditFault {
  /** null: of the chain as a whole. */
  sequence: number | null
  entryId: string | null
  why: string
}

export interface AuditReport {
  organisationId: string
  entries: number
  redacted: number
  faults: AuditFault[]
  /** The last link, to be written down outside the database: a chain that was made anew no longer holds it. */
  head: Anchor | null
}

export interface Anchor {
  sequence: number
  hash: string
}

const BATCH = 5000

function sha256(...parts: (Buffer | string)[]): Buffer {
  const hash = createHash('sha256')
  for (const part of parts) hash.update(part)
  return hash.digest()
}

/** @returns what is wrong with what the entry says now; null: nothing */
function contentFault({ sequence, entryId, salted, contentHash, entry }: Linked, redactions: Map<string, Redaction>): string | null {
  if (entry === null) return 'the entry is gone'
  const content = sha256(entry.content)
  if (entry.redactedBy === null) return content.equals(contentHash) ? null : 'actor, before or after was changed'
  const redaction = redactions.get(entry.redactedBy)
  if (redaction?.action !== 'anonymise' || redaction.sequence === null || redaction.sequence <= sequence)
    return 'it is marked as anonymised, and no later entry tells of that'
  return !salted && content.toString('hex') === redaction.hashes[entryId] ? null : 'it was changed after it was anonymised'
}

function faultsOf(linked: Linked, before: Buffer, redactions: Map<string, Redaction>): string[] {
  const follows = linked.entry === null || sha256(before, linked.entry.fixed, linked.contentHash).equals(linked.hash)
  const content = contentFault(linked, redactions)
  return [...(follows ? [] : ['the link does not follow from the one before and its entry']), ...(content === null ? [] : [content])]
}

/** Walks the links in order; keeps the last one, what was counted and what did not fit. */
class Walk {
  readonly faults: AuditFault[] = []
  at = 0
  before: Buffer = Buffer.alloc(0)
  entries = 0
  redacted = 0
  private readonly wanted: Map<number, string>

  constructor(anchors: readonly Anchor[]) {
    this.wanted = new Map(anchors.map(({ sequence, hash }) => [sequence, hash]))
  }

  step(linked: Linked, redactions: Map<string, Redaction>): void {
    const { sequence, entryId, hash } = linked
    const note = (why: string) => this.faults.push({ sequence, entryId, why })
    if (sequence !== this.at + 1) note(`links ${this.at + 1} to ${sequence - 1} are gone`)
    for (const why of faultsOf(linked, this.before, redactions)) note(why)
    if ((this.wanted.get(sequence) ?? hash.toString('hex')) !== hash.toString('hex'))
      note('it is another link than the one written down earlier')
    this.wanted.delete(sequence)
    this.entries += 1
    if (linked.entry?.redactedBy) this.redacted += 1
    this.at = sequence
    this.before = hash
  }

  end(head: { sequence: number; hash: Buffer } | null, unlinked: readonly string[]): void {
    const note = (why: string, entryId: string | null = null) => this.faults.push({ sequence: null, entryId, why })
    if (this.at !== (head?.sequence ?? 0) || (head && !this.before.equals(head.hash)))
      note(`the chain ends at ${this.at}, and its head says ${head?.sequence ?? 0} or another hash`)
    for (const sequence of this.wanted.keys()) note(`link ${sequence} was written down earlier and is gone`)
    for (const id of unlinked) note('the entry stands in no chain', id)
  }
}

/** @param anchors links of this organisation that were written down earlier, outside the database */
export async function verifyAudit(scope: PgScope, anchors: readonly Anchor[] = []): Promise<AuditReport> {
  const head = await readHead(scope)
  const walk = new Walk(anchors)
  for (;;) {
    const linked = await readLinked(scope, walk.at, head?.sequence ?? 0, BATCH)
    const redactions = await readRedactions(scope, linked)
    for (const one of linked) walk.step(one, redactions)
    if (linked.length < BATCH) break
  }
  walk.end(head, await readUnlinked(scope))
  const { entries, redacted, faults } = walk
  const anchor = head ? { sequence: head.sequence, hash: head.hash.toString('hex') } : null
  return { organisationId: scope.organisationId, entries, redacted, faults, head: anchor }
}
