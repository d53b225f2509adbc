import { createHash } from 'node:crypto'
import { Inject, Injectable } from '@nestjs/common'
import { Database, findAccessKey, findSession } from '@tapewarden/persistence'
import { AppError, readRoundLink, readVisitLink } from '@tapewarden/platform'
import { localToInstant } from '@tapewarden/scheduling'
import type { FastifyRequest } from 'fastify'
import type { KeyScope, Role, Route, Units } from '@tapewarden/shared'
import { nobodyOf, type Who } from '../http/call.js'
import { addDays } from '../use/local-day.js'
import { SETTINGS } from '../use/tokens.js'
import { endUnused, LEFT_UNUSED, noteUse } from './unused.js'

export function tokenHashOf(token: string): Buffer {
  return createHash('sha256').update(token).digest()
}

interface PersonRow extends Record<string, unknown> {
  name: string
  role: Role
  qualified: boolean
  units: Units
  warehouses: string[]
}

interface KeyRow extends Record<string, unknown> {
  name: string
  scopes: KeyScope[]
  warehouseIds: string[] | null
  createdBy: string
}

const OF_PERSON = `p.name, p.role, p.units, p.electrically_qualified AS qualified,
    COALESCE((SELECT array_agg(w.warehouse_id::text) FROM person_warehouse w WHERE w.organisation_id = p.organisation_id AND w.person_id = p.id), '{}') AS warehouses`
const PERSON = `SELECT ${OF_PERSON} FROM person p WHERE p.organisation_id = $1 AND p.id = $2 AND p.disabled_at IS NULL`

/** A turn on a shared tablet is a session, too, but no cookie holds it. */
const PERSON_OF_SESSION = `SELECT ${OF_PERSON}, ${LEFT_UNUSED} AS unused
  FROM session s JOIN person p ON p.organisation_id = s.organisation_id AND p.id = s.person_id AND p.disabled_at IS NULL
  WHERE s.organisation_id = $1 AND s.id = $2 AND s.tablet_id IS NULL`

/** Administrators and managers see every warehouse; the others those they serve. */
function seesAll(role: Role): boolean {
  return role === 'administrator' || role === 'manager'
}

/** Turns a cookie or a mail link into the person behind it, anew at each request: who was disabled is out at once. */
@Injectable()
export class Identities {
  constructor(
    private readonly database: Database,
    @Inject(SETTINGS) private readonly settings: { secretKey: string },
  ) {}

  /** @param used false for what an open page asks by itself: that prolongs nothing */
  async ofSession(token: string, used = true): Promise<Who | null> {
    const found = await findSession(this.database.pool, tokenHashOf(token))
    if (!found) return null
    const { organisationId, personId, sessionId } = found
    return this.database.withOrganisationSql(organisationId, async (scope) => {
      const [person] = await scope.rows<PersonRow & { unused: boolean }>(PERSON_OF_SESSION, [organisationId, sessionId])
      if (!person) return null
      if (person.unused) {
        await endUnused(scope, organisationId, sessionId)
        return null
      }
      if (used) await noteUse(scope, organisationId, sessionId)
      return {
        organisationId,
        personId,
        sessionId,
        name: person.name,
        role: person.role,
        electricallyQualified: person.qualified,
        units: person.units,
        warehouseIds: seesAll(person.role) ? null : person.warehouses,
        roundMonth: null,
      }
    })
  }

  /** A program, within the warehouses of its key: revoked or past its end it is nobody, from the next request on. */
  async ofAccessKey(secret: string): Promise<{ who: Who; scopes: readonly KeyScope[] } | null> {
    const found = await findAccessKey(this.database.pool, tokenHashOf(secret))
    if (!found) return null
    const { organisationId, accessKeyId } = found
    return this.database.withOrganisationSql(organisationId, async (scope) => {
      const [key] = await scope.rows<KeyRow>(
        `SELECT name, scopes, warehouse_ids::text[] AS "warehouseIds", created_by AS "createdBy" FROM access_key WHERE organisation_id = $1 AND id = $2`,
        [organisationId, accessKeyId],
      )
      if (!key) return null
      await scope.run(
        `UPDATE access_key SET last_used_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND (last_used_at IS NULL OR last_used_at < clock_timestamp() - interval '1 minute')`,
        [organisationId, accessKeyId],
      )
      const who: Who = {
        ...nobodyOf(organisationId),
        personId: key.createdBy,
        name: `${key.name} (access key)`,
        role: 'manager',
        warehouseIds: key.warehouseIds,
        accessKeyId,
      }
      return { who, scopes: key.scopes }
    })
  }

  /** @throws AppError: a forged, ended or withdrawn link all sound the same */
  async ofRoundLink(header: string | string[] | undefined, now: Date): Promise<Who> {
    const link = typeof header === 'string' ? readRoundLink(this.settings.secretKey, header, now) : null
    const person = link
      ? await this.database.withOrganisationSql(link.organisationId, async (scope) => {
          const [row] = await scope.rows<PersonRow>(PERSON, [link.organisationId, link.personId])
          return row
        })
      : undefined
    if (!link || !person) throw new AppError('forbidden', 'NOT_SIGNED_IN', 'This link is no longer good. Ask for a new one, or sign in.')
    return {
      organisationId: link.organisationId,
      personId: link.personId,
      sessionId: null,
      name: person.name,
      role: person.role,
      electricallyQualified: person.qualified,
      units: person.units,
      warehouseIds: [link.warehouseId],
      roundMonth: link.month,
    }
  }

  /** Until the night of the visit, there; a visit that is moved, given to another or taken away takes its link along. */
  async ofVisitLink(header: string | string[], now: Date): Promise<Who> {
    const link = typeof header === 'string' ? readVisitLink(this.settings.secretKey, header) : null
    const found = link
      ? await this.database.withOrganisationSql(link.organisationId, async (scope) => {
          const [visit] = await scope.rows<{ warehouseId: string; visitOn: string; zone: string }>(
            `SELECT v.warehouse_id AS "warehouseId", v.visit_on AS "visitOn", w.zone FROM visit v
             JOIN warehouse w ON w.organisation_id = v.organisation_id AND w.id = v.warehouse_id
             WHERE v.organisation_id = $1 AND v.id = $2 AND v.technician_id = $3`,
            [link.organisationId, link.visitId, link.personId],
          )
          const [person] = await scope.rows<PersonRow>(PERSON, [link.organisationId, link.personId])
          return visit && person && now < endOfVisit(visit) ? { visit, person } : null
        })
      : null
    if (!link || !found) throw new AppError('forbidden', 'NOT_SIGNED_IN', 'This link is no longer good: it ends on the night of its visit.')
    return {
      organisationId: link.organisationId,
      personId: link.personId,
      sessionId: null,
      name: found.person.name,
      role: 'technician',
      electricallyQualified: found.person.qualified,
      units: found.person.units,
      warehouseIds: [found.visit.warehouseId],
      roundMonth: null,
      visitId: link.visitId,
    }
  }

  /** Does what this request names belong to the visit? Nothing named is nothing of it. */
  async isOfVisit(who: Who, kind: NonNullable<Route['visitLink']>, request: FastifyRequest): Promise<boolean> {
    const named = { ...asNames(request.body), ...asNames(request.query), ...asNames(request.params) }
    if (kind === 'own') return true
    if (kind === 'visit') return named.visitId === who.visitId
    const [table, id] = kind === 'photo' ? (['photo', named.photoId] as const) : (['work_order', named.workOrderId] as const)
    if (typeof id !== 'string' || !UUID.test(id)) return false
    const join = kind === 'photo' ? 'JOIN photo f ON f.organisation_id = o.organisation_id AND f.work_order_id = o.id' : ''
    const rows = await this.database.withOrganisationSql(who.organisationId, (scope) =>
      scope.rows(
        `SELECT 1 FROM work_order o ${join} WHERE o.organisation_id = $1 AND ${table === 'photo' ? 'f' : 'o'}.id = $2 AND o.visit_id = $3 AND o.state <> 'drafted'`,
        [who.organisationId, id, who.visitId ?? null],
      ),
    )
    return rows.length > 0
  }
}

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i

export const endOfVisit = ({ visitOn, zone }: { visitOn: string; zone: string }): Date =>
  new Date(localToInstant(zone, `${addDays(visitOn, 1)}T00:00`))

const asNames = (value: unknown): Record<string, unknown> => (typeof value === 'object' && value !== null ? { ...value } : {})
