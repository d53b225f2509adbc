import { Inject, Injectable } from '@nestjs/common'
import { Database, type PgScope } from '@tapewarden/persistence'
import { newId } from '@tapewarden/platform'
import type { Who } from '../http/call.js'
import type { Claim } from '../http/idempotency.js'
import type { PlanningRequests } from './planning-requests.js'
import { Rows } from './rows.js'
import { PLANNING_REQUESTS } from './tokens.js'

/** What a use case knows of its request. */
export interface Asking {
  who: Who
  now: Date
  requestId: string
  claim?: Claim | undefined
}

/** One transaction of the asker's organisation. SQL written against it has the organisation as $1. */
export class Reading extends Rows {
  constructor(
    scope: PgScope,
    readonly asking: Asking,
  ) {
    super(scope)
  }
  get who(): Who {
    return this.asking.who
  }
  get now(): Date {
    return this.asking.now
  }
}

export interface Change {
  /** Where something else names the entry already; left out: a new one. */
  id?: string
  action: string
  subjectKind: string
  subjectId: string | null
  before?: unknown
  after?: unknown
}

/** A transaction that changes things: it notes who changed what, and which warehouses' dates may move by it. */
export class Changing extends Reading {
  readonly changes: Change[] = []
  readonly moved = new Set<string>()

  note(change: Change): void {
    this.changes.push(change)
  }

  /** Call with every warehouse where a date can move by this change. */
  datesMayMove(...warehouseIds: (string | null | undefined)[]): void {
    for (const id of warehouseIds) if (id) this.moved.add(id)
  }

  /** Evidence versions, then audit entries, in the same transaction; warehouses in one order, so that two of us never wait for each other. */
  async finish(): Promise<void> {
    if (this.moved.size > 0) await this.raiseEvidenceVersions([...this.moved].sort())
    if (this.changes.length > 0) await this.writeAudit()
  }

  private async raiseEvidenceVersions(ids: readonly string[]): Promise<void> {
    await this.rows(`SELECT id FROM warehouse WHERE organisation_id = $1 AND id = ANY($2::uuid[]) ORDER BY id FOR NO KEY UPDATE`, [ids])
    await this.run(`UPDATE warehouse SET evidence_version = evidence_version + 1 WHERE organisation_id = $1 AND id = ANY($2::uuid[])`, [
      ids,
    ])
  }

  private async writeAudit(): Promise<void> {
    await this.run(
      `INSERT INTO audit_entry (organisation_id, id, at, person_id, actor, action, subject_kind, subject_id, before, after, request_id)
       SELECT $1, r.id, $2, $3, $4, r.action, r.subject_kind, r.subject_id, r.before, r.after, $5
       FROM jsonb_to_recordset($6::jsonb) AS r(id uuid, action text, subject_kind text, subject_id uuid, before jsonb, after jsonb)`,
      [
        this.now,
        this.who.accessKeyId === undefined && this.who.personId !== '' ? this.who.personId : null,
        this.who.tablet && this.who.sessionId ? `${this.who.name} (short code, tablet ${this.who.tablet.name})` : this.who.name,
        this.asking.requestId,
        JSON.stringify(
          this.changes.map((change) => ({
            id: change.id ?? newId(),
            action: change.action,
            subject_kind: change.subjectKind,
            subject_id: change.subjectId,
            before: change.before ?? null,
            after: change.after ?? null,
          })),
        ),
      ],
    )
  }
}

/** Thrown to roll a rehearsal back; carries its answer out. */
class Rehearsed<Answer> extends Error {
  answer: Answer | undefined
}

/** Opens the transactions of the use cases. */
@Injectable()
export class Work {
  constructor(
    readonly database: Database,
    @Inject(PLANNING_REQUESTS) private readonly planning: PlanningRequests,
  ) {}

  read<Answer>(asking: Asking, use: (reading: Reading) => Promise<Answer>): Promise<Answer> {
    return this.database.withOrganisationSql(asking.who.organisationId, (scope) => use(new Reading(scope, asking)))
  }

  /** Does it, answers, and takes it all back: for 'what would happen if'. */
  async rehearse<Answer>(asking: Asking, use: (changing: Changing) => Promise<Answer>): Promise<Answer> {
    const curtain = new Rehearsed<Answer>()
    try {
      await this.database.withOrganisationSql(asking.who.organisationId, async (scope) => {
        curtain.answer = await use(new Changing(scope, asking))
        throw curtain
      })
    } catch (error) {
      if (error !== curtain) throw error
    }
    return curtain.answer as Answer
  }

  async change<Answer>(asking: Asking, use: (changing: Changing) => Promise<Answer>): Promise<Answer> {
    const { organisationId } = asking.who
    const [answer, moved] = await this.database.withOrganisationSql(organisationId, async (scope) => {
      const changing = new Changing(scope, asking)
      const done = await use(changing)
      await changing.finish()
      await asking.claim?.keep(scope, done)
      return [done, changing.moved] as const
    })
    // After the commit, and never a reason to fail: the sweep finds what was not asked for.
    for (const warehouseId of moved) await this.planning.request(organisationId, warehouseId).catch(() => undefined)
    return answer
  }
}
