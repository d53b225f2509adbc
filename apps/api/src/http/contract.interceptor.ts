import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common'
import { Reflector } from '@nestjs/core'
import type { RouteName } from '@tapewarden/shared'
import type { FastifyRequest } from 'fastify'
import { type Observable, map } from 'rxjs'
import type { z } from 'zod'
import { faultsOf } from './faults.js'
import { OPERATION, routeOf } from './operation.js'
import { ContractBrokenError, RequestRefusedError, type Fault } from './problem.js'

function parse(place: 'params' | 'query' | 'body', schema: z.ZodType | undefined, value: unknown, faults: Fault[]): unknown {
  if (!schema) return undefined
  const result = schema.safeParse(value ?? (place === 'body' ? undefined : {}))
  if (result.success) return result.data
  faults.push(...faultsOf(place, result.error))
  return undefined
}

/** Params, query and body in, response out: all by the route table's schemas. */
@Injectable()
export class ContractInterceptor implements NestInterceptor {
  constructor(private readonly reflector: Reflector) {}

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    const name = this.reflector.get<RouteName>(OPERATION, context.getHandler())
    const route = routeOf(name)
    const request = context.switchToHttp().getRequest<FastifyRequest>()
    const faults: Fault[] = []
    request.parsed = {
      params: parse('params', route.params, request.params, faults),
      query: parse('query', route.query, request.query, faults),
      body: parse('body', route.body, request.body, faults),
    }
    if (faults.length > 0) throw new RequestRefusedError(faults)
    return next.handle().pipe(map((value: unknown) => checked(name, route.response, value)))
  }
}

function checked(name: RouteName, schema: z.ZodType, value: unknown): unknown {
  const result = schema.safeParse(value)
  if (result.success) return result.data
  throw new ContractBrokenError(name, result.error.issues)
}
