import { Injectable } from '@nestjs/common'
import { Database, findSession, findTablet } from '@tapewarden/persistence'
import { AppError } from '@tapewarden/platform'
import type { Role, Units } from '@tapewarden/shared'
import { nobodyOf, type Who } from '../http/call.js'
import { tokenHashOf } from '../sessions/identities.js'
import { noteUse } from '../sessions/unused.js'

interface TabletRow extends Record<string, unknown> {
  id: string
  name: string
  warehouseId: string
}
interface WorkerRow extends TabletRow {
  personId: string
  personName: string
  role: Role
  qualified: boolean
  units: Units
}

/** Who may begin a turn in a warehouse: those who serve it, and the desk, who see every one. */
export const MAY_WORK_THERE = `p.disabled_at IS NULL AND (p.role IN ('administrator', 'manager') OR EXISTS
  (SELECT 1 FROM person_warehouse w WHERE w.organisation_id = p.organisation_id AND w.person_id = p.id AND w.warehouse_id = t.warehouse_id))`

const NOT_THIS_TABLET = () =>
  new AppError('forbidden', 'NOT_SIGNED_IN', 'This tablet was ended, or never was one. A manager makes it one again.')
const TURN_IS_OVER = () => new AppError('forbidden', 'NOT_SIGNED_IN', 'This turn is over. Say again who is working.')

/** A shared tablet, and whoever works on it by a short code: found anew at each request, so what was ended is out at once. */
@Injectable()
export class TabletIdentities {
  constructor(private readonly database: Database) {}

  async ofTablet(header: string | string[] | undefined): Promise<Who> {
    const found = typeof header === 'string' ? await findTablet(this.database.pool, tokenHashOf(header)) : null
    if (!found) throw NOT_THIS_TABLET()
    const { organisationId, tabletId } = found
    return this.database.withOrganisationSql(organisationId, async (scope) => {
      const [tablet] = await scope.rows<TabletRow>(
        `SELECT id, name, warehouse_id AS "warehouseId" FROM shared_tablet WHERE organisation_id = $1 AND id = $2 AND ended_at IS NULL`,
        [organisationId, tabletId],
      )
      if (!tablet) throw NOT_THIS_TABLET()
      await scope.run(
        `UPDATE shared_tablet SET last_seen_at = clock_timestamp() WHERE organisation_id = $1 AND id = $2 AND (last_seen_at IS NULL OR last_seen_at < clock_timestamp() - interval '1 minute')`,
        [organisationId, tabletId],
      )
      return { ...nobodyOf(organisationId), name: `tablet ${tablet.name}`, warehouseIds: [tablet.warehouseId], tablet }
    })
  }

  /** A few digits are no password: whoever they are at the desk, here they are a technician of this one warehouse at most. */
  async ofTurn(header: string | string[]): Promise<Who> {
    const found = typeof header === 'string' ? await findSession(this.database.pool, tokenHashOf(header)) : null
    if (!found) throw TURN_IS_OVER()
    const { organisationId, sessionId } = found
    return this.database.withOrganisationSql(organisationId, async (scope) => {
      const [worker] = await scope.rows<WorkerRow>(
        `SELECT t.id, t.name, t.warehouse_id AS "warehouseId", p.id AS "personId", p.name AS "personName", p.role, p.units, p.electrically_qualified AS qualified
         FROM session s JOIN shared_tablet t ON t.organisation_id = s.organisation_id AND t.id = s.tablet_id AND t.ended_at IS NULL
         JOIN person p ON p.organisation_id = s.organisation_id AND p.id = s.person_id
         WHERE s.organisation_id = $1 AND s.id = $2 AND ${MAY_WORK_THERE}`,
        [organisationId, sessionId],
      )
      if (!worker) throw TURN_IS_OVER()
      await noteUse(scope, organisationId, sessionId)
      return {
        organisationId,
        personId: worker.personId,
        name: worker.personName,
        role: worker.role === 'instructed' ? 'instructed' : 'technician',
        warehouseIds: [worker.warehouseId],
        electricallyQualified: worker.qualified,
        units: worker.units,
        sessionId,
        tablet: { id: worker.id, name: worker.name, warehouseId: worker.warehouseId },
        roundMonth: null,
      }
    })
  }
}
