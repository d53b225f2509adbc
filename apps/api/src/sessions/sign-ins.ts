/** What every way of signing in ends with: a session, its cookie, and who and where one is. */
import { Inject, Injectable } from '@nestjs/common'
import { Database } from '@tapewarden/persistence'
import type { RouteResult, Routes } from '@tapewarden/shared'
import type { FastifyReply, FastifyRequest } from 'fastify'
import { nobodyOf, type Who } from '../http/call.js'
import { setSessionCookie } from '../http/cookie.js'
import { SETTINGS } from '../use/tokens.js'
import { type Asking, Work } from '../use/work.js'
import { me, openSession } from './session-use-cases.js'

export interface Found {
  organisationId: string
  personId: string
}

export interface Entering {
  request: FastifyRequest
  reply: FastifyReply
  now: Date
  requestId: string
}

@Injectable()
export class SignIns {
  constructor(
    private readonly work: Work,
    private readonly database: Database,
    @Inject(SETTINGS) private readonly settings: { secureCookies: boolean },
  ) {}

  /** Somebody who is about to sign in, by name where it is known. */
  asking({ now, requestId }: Entering, { organisationId, personId }: Found, name = ''): Asking {
    return { who: { ...nobodyOf(organisationId), personId, name }, now, requestId }
  }

  /** @param by what they showed, for the history */
  async open(entering: Entering, found: Found, by: string): Promise<RouteResult<Routes['signIn']>> {
    const { now, requestId, request, reply } = entering
    const known = await this.work.read(this.asking(entering, found), me)
    const who: Who = { ...nobodyOf(found.organisationId), personId: found.personId, name: known.person.name, role: known.person.role }
    const userAgent = request.headers['user-agent'] ?? ''
    const token = await this.work.change({ who, now, requestId }, (changing) => openSession(changing, userAgent, by))
    setSessionCookie(reply, token, this.settings.secureCookies)
    return this.work.read({ who: await this.limited(who), now, requestId }, me)
  }

  /** The answer names only the warehouses that this person may see. */
  private async limited(who: Who): Promise<Who> {
    if (who.role === 'administrator' || who.role === 'manager') return who
    const rows = await this.database.withOrganisationSql(who.organisationId, (scope) =>
      scope.rows<{ id: string }>(`SELECT warehouse_id AS id FROM person_warehouse WHERE organisation_id = $1 AND person_id = $2`, [
        who.organisationId,
        who.personId,
      ]),
    )
    return { ...who, warehouseIds: rows.map((row) => row.id) }
  }
}
