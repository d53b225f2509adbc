import { type CanActivate, type ExecutionContext, Inject, Injectable } from '@nestjs/common'
import { Reflector } from '@nestjs/core'
import { AppError, type Clock, ForbiddenError } from '@tapewarden/platform'
import { ROUND_LINK_HEADER, type Route, type RouteName } from '@tapewarden/shared'
import type { FastifyRequest } from 'fastify'
import { Identities } from '../sessions/identities.js'
import { CLOCK } from '../use/tokens.js'
import type { Who } from './call.js'
import { SESSION_COOKIE } from './cookie.js'
import { OPERATION, routeOf } from './operation.js'

const NOT_SIGNED_IN = () => new AppError('forbidden', 'NOT_SIGNED_IN', 'Sign in first; an earlier session may have ended.')

/** Finds who asks and compares with the route's declared access. A handler without a declaration never answers. */
@Injectable()
export class AccessGuard implements CanActivate {
  constructor(
    private readonly reflector: Reflector,
    private readonly identities: Identities,
    @Inject(CLOCK) private readonly clock: Clock,
  ) {}

  async canActivate(context: ExecutionContext): Promise<boolean> {
    const name = this.reflector.get<RouteName | undefined>(OPERATION, context.getHandler())
    if (!name) throw new Error(`${context.getClass().name}.${context.getHandler().name} declares no access`)
    const request = context.switchToHttp().getRequest<FastifyRequest>()
    const route = routeOf(name)
    if (route.noun === 'health' && route.access === 'public') return true
    request.now = await this.clock.now()
    const who = await this.identify(route, request, request.now)
    if (who) request.who = who
    return true
  }

  private async identify(route: Route, request: FastifyRequest, now: Date): Promise<Who | null> {
    if (route.access === 'public') return null
    if (route.access === 'round_link') return this.identities.ofRoundLink(request.headers[ROUND_LINK_HEADER], now)
    const token = request.cookies[SESSION_COOKIE]
    const who = token ? await this.identities.ofSession(token) : null
    if (!who) throw NOT_SIGNED_IN()
    if (!route.access.includes(who.role))
      throw new ForbiddenError('ROLE_NOT_ALLOWED', `This is for: ${route.access.join(', ')}. You are signed in as ${who.role}.`)
    return who
  }
}
