/** ETag and If-Match of records that carry a version, for every route at once. */
import { AppError, ConflictError } from '@tapewarden/platform'
import type { Route } from '@tapewarden/shared'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { z } from 'zod'
import { RequestRefusedError } from './problem.js'

/** True where the body of a route may say which version was read. */
export function takesVersion(route: Route): boolean {
  return route.method !== 'GET' && route.body instanceof z.ZodObject && 'version' in route.body.shape
}

const TAG = /^"([1-9]\d{0,9})"$/
const failed = (detail: string) => new AppError('conflict', 'PRECONDITION_FAILED', detail)

/**
 * Puts the version that If-Match names into the body, where the use case looks for it.
 * @throws AppError 412 for a tag that this record can never have had
 */
export function readIfMatch(route: Route, request: FastifyRequest): void {
  const asked = request.headers['if-match']
  if (asked === undefined || asked === '*' || route.method === 'GET') return
  const version = Number(TAG.exec(asked)?.[1] ?? Number.NaN)
  if (!takesVersion(route)) throw failed('This has no version that If-Match could name.')
  if (!(version <= 2_147_483_647)) throw failed('If-Match names no version that this ever had.')
  const body: unknown = request.body
  if (typeof body !== 'object' || body === null || Array.isArray(body)) return
  const inBody = (body as { version?: unknown }).version
  if (inBody !== undefined && inBody !== version) throw new RequestRefusedError([{ pointer: '/version', message: 'differs from If-Match' }])
  request.body = { ...body, version }
}

/** Whoever asked by If-Match is answered in its words. */
export function asPrecondition(error: unknown, request: FastifyRequest): unknown {
  const changed = error instanceof ConflictError && error.code === 'CHANGED_MEANWHILE'
  return changed && request.headers['if-match'] !== undefined ? failed(error.message) : error
}

export function tagAnswer(value: unknown, reply: FastifyReply): void {
  const version = (value as { version?: unknown } | null)?.version
  if (typeof version === 'number' && Number.isInteger(version)) void reply.header('etag', `"${version}"`)
}
