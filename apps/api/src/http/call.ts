import { type ExecutionContext, createParamDecorator } from '@nestjs/common'
import type { Role, RouteBody, RouteName, RouteParams, RouteQuery, Routes, Units } from '@tapewarden/shared'
import type { FastifyReply, FastifyRequest } from 'fastify'
import type { Claim } from './idempotency.js'

/** Who acts. Every use case is bound to this organisation; warehouseIds null: all of them. */
export interface Who {
  organisationId: string
  personId: string
  name: string
  role: Role
  warehouseIds: readonly string[] | null
  electricallyQualified: boolean
  /** In which lengths are told to them. */
  units: Units
  /** null: by mail link. */
  sessionId: string | null
  /** Set for a program that asks with an access key. */
  accessKeyId?: string
  /** Set for a visiting technician's link: it opens this visit and nothing else. */
  visitId?: string
  /** Set for a shared tablet, and for a turn on it. */
  tablet?: { id: string; name: string; warehouseId: string }
  /** Set for a mail link: it opens this month's round of its one warehouse and nothing else. */
  roundMonth: string | null
}

/** Somebody of an organisation who is not known yet: a sign-in, or the holder of a link by mail. */
export function nobodyOf(organisationId: string): Who {
  return {
    organisationId,
    personId: '',
    name: '',
    role: 'instructed',
    warehouseIds: null,
    electricallyQualified: false,
    units: 'si',
    sessionId: null,
    roundMonth: null,
  }
}

/** One request, read and checked. */
export interface Call<Name extends RouteName> {
  params: RouteParams<Routes[Name]>
  query: RouteQuery<Routes[Name]>
  body: RouteBody<Routes[Name]>
  who: Who
  /** The moment of this request by the clock port. */
  now: Date
  requestId: string
  /** Of a request with an idempotency key: what is changed is kept together with its answer. */
  claim: Claim | undefined
  request: FastifyRequest
  reply: FastifyReply
}

declare module 'fastify' {
  interface FastifyRequest {
    who?: Who
    now?: Date
    claim?: Claim
    parsed?: { params: unknown; query: unknown; body: unknown }
  }
}

/** Hands the checked request to a handler. */
export const Asked = createParamDecorator((_data: unknown, context: ExecutionContext) => {
  const request = context.switchToHttp().getRequest<FastifyRequest>()
  return {
    ...request.parsed,
    who: request.who,
    now: request.now,
    requestId: request.id,
    claim: request.claim,
    request,
    reply: context.switchToHttp().getResponse<FastifyReply>(),
  }
})
