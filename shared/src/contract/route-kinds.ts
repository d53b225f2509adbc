/** What one line of the route table says. The api registers and checks from it; the browser's client is typed by it. */
import type { z } from 'zod'
import type { Role } from '../vocabulary.js'
import type { KeyScope } from './access-keys.js'

/** Who may call: nobody signed in, named roles, the holder of a round's mail link, or a shared tablet by itself. */
export type Access = 'public' | 'round_link' | 'tablet' | readonly Role[]

export interface Route {
  method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE'
  path: string
  noun: string
  summary: string
  access: Access
  /** Of a success. */
  status: 200 | 201
  params?: z.ZodType
  query?: z.ZodType
  body?: z.ZodType
  response: z.ZodType
  /** What an access key must hold to ask; left out: no program may. */
  keyScope?: KeyScope
  /**
   * Open to a visiting technician's link, within its one visit: the visit itself, an order of it, or a photo of such an order,
   * by what the request names; 'own': answers of itself only what is theirs.
   */
  visitLink?: 'visit' | 'order' | 'photo' | 'own'
  /** The answer is a file of this kind, sent as it is made; `response` says nothing of it. */
  file?: string
  /** The answer holds a secret: it is never kept, and a repeat under the same idempotency key is told so. */
  answerHeldBack?: true
}

type Sent<R, Key extends 'params' | 'query' | 'body'> =
  R extends Record<Key, infer S> ? (S extends z.ZodType ? { [K in Key]: z.input<S> } : unknown) : unknown
type Parsed<R, Key extends 'params' | 'query' | 'body'> =
  R extends Record<Key, infer S> ? (S extends z.ZodType ? z.output<S> : undefined) : undefined

/** What a client sends: {params, query, body}, each only where the route has it. */
export type RouteRequest<R> = Sent<R, 'params'> & Sent<R, 'query'> & Sent<R, 'body'>
/** What a client receives. */
export type RouteResponse<R> = R extends { response: infer S extends z.ZodType } ? z.output<S> : never
/** What a use case answers, before the response schema has checked it. */
export type RouteResult<R> = R extends { response: infer S extends z.ZodType } ? z.input<S> : never
export type RouteParams<R> = Parsed<R, 'params'>
export type RouteQuery<R> = Parsed<R, 'query'>
export type RouteBody<R> = Parsed<R, 'body'>
