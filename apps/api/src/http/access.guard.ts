import { type CanActivate, type ExecutionContext, Inject, Injectable } from '@nestjs/common'
import { Reflector } from '@nestjs/core'
import { AppError, type Clock, ForbiddenError } from '@tapewarden/platform'
import {
  BY_ITSELF_HEADER,
  ROUND_LINK_HEADER,
  type Route,
  type RouteName,
  TABLET_HEADER,
  TURN_HEADER,
  TURN_ROUTES,
  VISIT_LINK_HEADER,
} from '@tapewarden/shared'
import type { FastifyRequest } from 'fastify'
import { Identities } from '../sessions/identities.js'
import { TabletIdentities } from '../tablets/tablet-identities.js'
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
    private readonly tablets: TabletIdentities,
    @Inject(CLOCK) private readonly clock: Clock,
  ) {}

  async canActivate(context: ExecutionContext): Promise<boolean> {
    const name = this.reflector.get<RouteName | undefined>(OPERATION, context.getHandler())
    if (!name) throw new Error(`${context.getClass().name}.${context.getHandler().name} declares no access`)
    const request = context.switchToHttp().getRequest<FastifyRequest>()
    const route = routeOf(name)
    if (route.noun === 'health' && route.access === 'public') return true
    request.now = await this.clock.now()
    const who = await this.identify(name, route, request, request.now)
    if (who) request.who = who
    return true
  }

  private async identify(name: RouteName, route: Route, request: FastifyRequest, now: Date): Promise<Who | null> {
    if (route.access === 'public') return null
    if (route.access === 'round_link') return this.identities.ofRoundLink(request.headers[ROUND_LINK_HEADER], now)
    if (route.access === 'tablet') return this.tablets.ofTablet(request.headers[TABLET_HEADER])
    const turn = request.headers[TURN_HEADER]
    if (turn !== undefined) return this.worker(name, route, turn)
    const visiting = request.headers[VISIT_LINK_HEADER]
    if (visiting !== undefined) return this.visitor(route, request, visiting, now)
    if (request.headers.authorization !== undefined) return this.program(route, request.headers.authorization)
    const token = request.cookies[SESSION_COOKIE]
    const who = token ? await this.identities.ofSession(token, request.headers[BY_ITSELF_HEADER] === undefined) : null
    if (!who) throw NOT_SIGNED_IN()
    if (!route.access.includes(who.role))
      throw new ForbiddenError('ROLE_NOT_ALLOWED', `This is for: ${route.access.join(', ')}. You are signed in as ${who.role}.`)
    return who
  }

  /** A visiting technician's link opens what belongs to its visit alone; a cookie beside it does not count. */
  private async visitor(route: Route, request: FastifyRequest, secret: string | string[], now: Date): Promise<Who> {
    const who = await this.identities.ofVisitLink(secret, now)
    const inside = route.visitLink !== undefined && (await this.identities.isOfVisit(who, route.visitLink, request))
    if (!inside) throw new ForbiddenError('NOT_OF_THIS_VISIT', 'This link opens one visit and its orders, and nothing else.')
    return who
  }

  /** A turn on a shared tablet opens the work on site; a cookie beside it does not count. */
  private async worker(name: RouteName, route: Route, secret: string | string[]): Promise<Who> {
    const who = await this.tablets.ofTurn(secret)
    if (!TURN_ROUTES.has(name) || !(route.access as readonly string[]).includes(who.role))
      throw new ForbiddenError(
        'NOT_ON_A_SHARED_TABLET',
        'A short code opens the work on site and nothing else. Sign in elsewhere for this.',
      )
    return who
  }

  /** A key opens the routes of its scopes alone; a cookie beside it does not count. */
  private async program(route: Route, authorization: string): Promise<Who> {
    const secret = /^Bearer ([\w-]{1,200})$/i.exec(authorization)?.[1]
    const found = secret ? await this.identities.ofAccessKey(secret) : null
    if (!found) throw new AppError('forbidden', 'NOT_SIGNED_IN', 'This access key is unknown, revoked or past its end.')
    if (route.keyScope === undefined || !found.scopes.includes(route.keyScope))
      throw new ForbiddenError(
        'SCOPE_NOT_ALLOWED',
        `This needs ${route.keyScope ?? 'a person who is signed in'}; the key has: ${found.scopes.join(', ')}.`,
      )
    return found.who
  }
}
