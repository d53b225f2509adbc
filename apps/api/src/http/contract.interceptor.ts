import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common'
import { Reflector } from '@nestjs/core'
import type { Route, RouteName } from '@tapewarden/shared'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { type Observable, firstValueFrom, from } from 'rxjs'
import type { z } from 'zod'
import { faultsOf } from './faults.js'
import { Idempotency } from './idempotency.js'
import { OPERATION, routeOf } from './operation.js'
import { ContractBrokenError, RequestRefusedError, type Fault } from './problem.js'
import { asPrecondition, readIfMatch, tagAnswer } from './versions.js'

function parse(place: 'params' | 'query' | 'body', schema: z.ZodType | undefined, value: unknown, faults: Fault[]): unknown {
  if (!schema) return undefined
  const result = schema.safeParse(value ?? (place === 'body' ? undefined : {}))
  if (result.success) return result.data
  faults.push(...faultsOf(place, result.error))
  return undefined
}

/** @throws RequestRefusedError that names every fault */
function parseAll(route: Route, request: FastifyRequest): { params: unknown; query: unknown; body: unknown } {
  const faults: Fault[] = []
  const parsed = {
    params: parse('params', route.params, request.params, faults),
    query: parse('query', route.query, request.query, faults),
    body: parse('body', route.body, request.body, faults),
  }
  if (faults.length > 0) throw new RequestRefusedError(faults)
  return parsed
}

/** Params, query and body in, response out: all by the route table's schemas; once for each idempotency key. */
@Injectable()
export class ContractInterceptor implements NestInterceptor {
  constructor(
    private readonly reflector: Reflector,
    private readonly idempotency: Idempotency,
  ) {}

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    return from(this.run(context, next))
  }

  private async run(context: ExecutionContext, next: CallHandler): Promise<unknown> {
    const name = this.reflector.get<RouteName>(OPERATION, context.getHandler())
    const route = routeOf(name)
    const request = context.switchToHttp().getRequest<FastifyRequest>()
    const reply = context.switchToHttp().getResponse<FastifyReply>()
    readIfMatch(route, request)
    request.parsed = parseAll(route, request)
    const handle = (): Promise<unknown> =>
      firstValueFrom(next.handle() as Observable<unknown>).catch((error: unknown) => {
        throw asPrecondition(error, request)
      })
    if (route.file !== undefined) return handle()
    const answer = checked(name, route.response, await this.idempotency.answer(name, route, request, reply, handle))
    tagAnswer(answer, reply)
    return answer
  }
}

function checked(name: RouteName, schema: z.ZodType, value: unknown): unknown {
  const result = schema.safeParse(value)
  if (result.success) return result.data
  throw new ContractBrokenError(name, result.error.issues)
}
