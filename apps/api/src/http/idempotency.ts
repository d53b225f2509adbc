/**
 * Idempotency-Key (after the IETF draft of that name) for every request that changes something, in one place.
 * The answer is kept in the transaction of the change: there is no moment in which one is there without the other.
 */
import { createHash } from 'node:crypto'
import { Injectable } from '@nestjs/common'
import { Database, type PgScope } from '@tapewarden/persistence'
import { ConflictError, InvalidError } from '@tapewarden/platform'
import type { Problem, Route, RouteName } from '@tapewarden/shared'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { answerTo, type Fault, problemOf, ReplayedProblem, RequestRefusedError } from './problem.js'

export const KEY_HEADER = 'idempotency-key'
/** A holder that has been silent for so long has died; what it had not committed is undone. */
const LEASE_SECONDS = 60
/** A phone may have been in a drawer over a week-end. */
const KEPT_DAYS = 7
const PRUNE_EVERY_MS = 3_600_000
/** Refusals of the use case, which the same request would meet again. */
const KEPT_REFUSALS = new Set([404, 409, 412, 422])

/** The same for the same JSON, whatever the order of its keys. */
function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'null'
  const entries = Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1))
  return `{${entries.map(([key, item]) => `${JSON.stringify(key)}:${canonical(item)}`).join(',')}}`
}

/** @throws RequestRefusedError for a key that is none */
export function readKey(request: FastifyRequest): string | null {
  const header = request.headers[KEY_HEADER]
  if (header === undefined) return null
  const key = typeof header === 'string' ? header.replace(/^"(.*)"$/, '$1') : ''
  if (/^[\x21-\x7e]{1,255}$/.test(key)) return key
  const fault: Fault = { pointer: `header/${KEY_HEADER}`, message: 'must have 1 to 255 visible characters' }
  throw new RequestRefusedError([fault])
}

const OWN = 'organisation_id = $1 AND actor_id = $2 AND key = $3 AND attempt = $4 AND status IS NULL'

/** One request's hold of one key. */
export class Claim {
  kept = false

  constructor(
    private readonly actorId: string,
    private readonly key: string,
    private readonly attempt: number,
    private readonly route: Route,
  ) {}

  /** Called with the answer, in the transaction that changes something. @throws ConflictError where another took the key over */
  async keep(scope: PgScope, answer: unknown): Promise<void> {
    await this.write(scope, this.route.status, this.route.answerHeldBack ? null : answer)
  }

  async write(scope: PgScope, status: number, answer: unknown): Promise<void> {
    const written = await scope.run(`UPDATE idempotency_key SET status = $5, response = $6 WHERE ${OWN}`, [
      ...this.own(scope),
      status,
      answer === null ? null : JSON.stringify(answer),
    ])
    if (written !== 1) throw inFlight()
    this.kept = true
  }

  async release(scope: PgScope): Promise<void> {
    await scope.run(`DELETE FROM idempotency_key WHERE ${OWN}`, this.own(scope))
  }

  private own(scope: PgScope): [string, string, string, number] {
    return [scope.organisationId, this.actorId, this.key, this.attempt]
  }
}

function inFlight(): ConflictError {
  return new ConflictError('REQUEST_IN_FLIGHT', 'A request with this idempotency key is being worked on. Ask again shortly.')
}

interface KeptRow extends Record<string, unknown> {
  bodyHash: Buffer
  status: number | null
  response: unknown
}

@Injectable()
export class Idempotency {
  private readonly prunedAtMs = new Map<string, number>()

  constructor(private readonly database: Database) {}

  /** Runs the request, or gives the answer that it was given before. */
  async answer(name: RouteName, route: Route, request: FastifyRequest, reply: FastifyReply, run: () => Promise<unknown>): Promise<unknown> {
    const key = route.method === 'GET' || !request.who ? null : readKey(request)
    if (key === null) return run()
    const { organisationId } = request.who as { organisationId: string }
    const found = await this.database.withOrganisationSql(organisationId, (scope) => this.claim(scope, key, name, route, request))
    if (!(found instanceof Claim)) return replay(found, route, reply)
    request.claim = found
    try {
      const answer = await run()
      if (!found.kept) await this.database.withOrganisationSql(organisationId, (scope) => found.keep(scope, answer))
      return answer
    } catch (error) {
      await this.database
        .withOrganisationSql(organisationId, (scope) => keepRefusal(scope, found, error, request.id))
        .catch(() => undefined)
      throw error
    }
  }

  private async claim(scope: PgScope, key: string, name: RouteName, route: Route, request: FastifyRequest): Promise<Claim | KeptRow> {
    const actorId = request.who?.accessKeyId ?? (request.who?.personId || (request.who?.tablet?.id as string))
    await this.prune(scope)
    const hash = createHash('sha256')
      .update(`${request.method} ${request.url}\n${canonical(request.body)}`)
      .digest()
    const [mine] = await scope.rows<{ attempt: number }>(
      `INSERT INTO idempotency_key AS k (organisation_id, actor_id, key, route, body_hash, created_at) VALUES ($1, $2, $3, $4, $5, clock_timestamp())
       ON CONFLICT (organisation_id, actor_id, key) DO UPDATE SET attempt = k.attempt + 1, created_at = clock_timestamp(), route = $4, body_hash = $5, status = NULL, response = NULL
         WHERE (k.status IS NULL AND k.body_hash = $5 AND k.created_at < clock_timestamp() - make_interval(secs => $6))
            OR k.created_at < clock_timestamp() - make_interval(days => $7)
       RETURNING attempt`,
      [scope.organisationId, actorId, key, name, hash, LEASE_SECONDS, KEPT_DAYS],
    )
    if (mine) return new Claim(actorId, key, mine.attempt, route)
    const [row] = await scope.rows<KeptRow>(
      `SELECT body_hash AS "bodyHash", status, response FROM idempotency_key WHERE organisation_id = $1 AND actor_id = $2 AND key = $3`,
      [scope.organisationId, actorId, key],
    )
    if (row && !row.bodyHash.equals(hash))
      throw new InvalidError('KEY_OF_ANOTHER_REQUEST', 'This idempotency key came with another request before. Make a new one.')
    if (!row || row.status === null) throw inFlight()
    return row
  }

  /** Once an hour, organisation and process. */
  private async prune(scope: PgScope): Promise<void> {
    const nowMs = performance.now()
    if (nowMs - (this.prunedAtMs.get(scope.organisationId) ?? Number.NEGATIVE_INFINITY) < PRUNE_EVERY_MS) return
    this.prunedAtMs.set(scope.organisationId, nowMs)
    await scope.run(
      'DELETE FROM idempotency_key WHERE organisation_id = $1 AND created_at < clock_timestamp() - make_interval(days => $2)',
      [scope.organisationId, KEPT_DAYS],
    )
  }
}

async function keepRefusal(scope: PgScope, claim: Claim, error: unknown, requestId: string): Promise<void> {
  const refusal = answerTo(error)
  if (!claim.kept && KEPT_REFUSALS.has(refusal.status)) await claim.write(scope, refusal.status, problemOf(refusal, requestId))
  else await claim.release(scope)
}

function replay({ status, response }: KeptRow, route: Route, reply: FastifyReply): unknown {
  void reply.header('idempotency-replayed', 'true')
  if (status !== route.status) throw new ReplayedProblem(response as Problem)
  if (route.answerHeldBack)
    throw new ConflictError('ANSWER_SHOWN_ONCE', 'This was done before under the same key; what it showed is shown only once.')
  return response
}
