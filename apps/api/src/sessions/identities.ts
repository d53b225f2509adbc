import { createHash } from 'node:crypto'
import { Inject, Injectable } from '@nestjs/common'
import { Database, findAccessKey, findSession } from '@tapewarden/persistence'
import { AppError, readRoundLink } from '@tapewarden/platform'
import type { KeyScope, Role } from '@tapewarden/shared'
import { nobodyOf, type Who } from '../http/call.js'
import { SETTINGS } from '../use/tokens.js'

export function tokenHashOf(token: string): Buffer {
  return createHash('sha256').update(token).digest()
}

interface PersonRow extends Record<string, unknown> {
  name: string
  role: Role
  qualified: boolean
  warehouses: string[]
}

interface KeyRow extends Record<string, unknown> {
  name: string
  scopes: KeyScope[]
  warehouseIds: string[] | null
  createdBy: string
}

const PERSON = `SELECT p.name, p.role, p.electrically_qualified AS qualified,
    COALESCE((SELECT array_agg(w.warehouse_id::text) FROM person_warehouse w WHERE w.organisation_id = p.organisation_id AND w.person_id = p.id), '{}') AS warehouses
  FROM person p WHERE p.organisation_id = $1 AND p.id = $2 AND p.disabled_at IS NULL`

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

  async ofSession(token: string): Promise<Who | null> {
    const found = await findSession(this.database.pool, tokenHashOf(token))
    if (!found) return null
    const { organisationId, personId, sessionId } = found
    return this.database.withOrganisationSql(organisationId, async (scope) => {
      const [person] = await scope.rows<PersonRow>(PERSON, [organisationId, personId])
      if (!person) return null
      await scope.run(
        `UPDATE session SET last_seen_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND last_seen_at < clock_timestamp() - interval '1 minute'`,
        [organisationId, sessionId],
      )
      return {
        organisationId,
        personId,
        sessionId,
        name: person.name,
        role: person.role,
        electricallyQualified: person.qualified,
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
      warehouseIds: [link.warehouseId],
      roundMonth: link.month,
    }
  }
}
