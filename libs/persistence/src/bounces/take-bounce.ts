import { newId } from '@tapewarden/platform'
import type { SqlDatabase } from '../sql-database.js'
import { findMessage, findPersonByEmail } from '../directory.js'
import type { PgScope } from '../pg-scope.js'

export interface ReportedBounce {
  sourceKey: string
  messageIds: readonly string[]
  reports: readonly { address: string; kind: 'hard' | 'soft'; statusCode: string; diagnostic: string }[]
}

export interface TakenBounce {
  /** New entries; one that is known already counts as none. */
  entries: number
  /** Addresses to which no more is sent. */
  suppressed: number
  /** Organisations and warehouses in which something is to be said to somebody else now. */
  toCompose: { organisationId: string; warehouseId: string }[]
  /** Reports that name no mail and no person of ours. */
  unknown: number
}

/** So many soft ones in so many days, and the address is given up as well: assumption. */
const SOFT_MOST = 5
const SOFT_DAYS = 7

interface Owner {
  organisationId: string
  personId: string
  messageId: string | null
}

/** @param trusted the notification came by an authenticated way: then an address without a mail of ours is enough */
async function ownerOf(database: SqlDatabase, address: string, messageIds: readonly string[], trusted: boolean): Promise<Owner | null> {
  for (const messageId of messageIds) {
    const found = await findMessage(database.pool, messageId)
    if (found && found.toAddress?.toLowerCase() === address.toLowerCase())
      return { organisationId: found.organisationId, personId: found.personId, messageId }
  }
  const person = trusted ? await findPersonByEmail(database.pool, address) : null
  return person && { organisationId: person.organisationId, personId: person.personId, messageId: null }
}

/** What the mail held and is still open is free to be told to whoever stands in. @returns the warehouses */
async function freeReminders(scope: PgScope, personId: string, messageId: string | null): Promise<string[]> {
  const rows = await scope.rows<{ id: string }>(
    `WITH freed AS (
       UPDATE reminder r SET message_id = NULL FROM message m, occurrence o
       WHERE r.organisation_id = $1 AND m.organisation_id = $1 AND o.organisation_id = $1 AND r.message_id = m.id AND o.id = r.occurrence_id AND o.state = 'open'
         AND m.person_id = $2 AND (m.id = $3 OR m.state = 'pending')
       RETURNING r.warehouse_id)
     SELECT DISTINCT warehouse_id AS id FROM freed
     UNION SELECT id FROM warehouse WHERE organisation_id = $1 AND $2 IN (first_person_id, second_person_id)`,
    [scope.organisationId, personId, messageId],
  )
  return rows.map(({ id }) => id)
}

async function suppress(scope: PgScope, owner: Owner, address: string, reason: string): Promise<boolean> {
  const changed = await scope.run(
    `UPDATE person SET mail_refused_address = email, mail_refused_reason = $4
     WHERE organisation_id = $1 AND id = $2 AND lower(email) = lower($3) AND lower(mail_refused_address) IS DISTINCT FROM lower(email)`,
    [scope.organisationId, owner.personId, address, reason.slice(0, 600)],
  )
  return changed === 1
}

/**
 * Takes in what a mail server reports of mail that it could not deliver: kept once, however often it is handed in;
 * after a hard one, or the fifth soft one in a week, nothing more goes to the address and the open part of the mail is
 * told to whoever stands in.
 */
export async function takeBounce(database: SqlDatabase, bounce: ReportedBounce, now: Date, trusted: boolean): Promise<TakenBounce> {
  const taken: TakenBounce = { entries: 0, suppressed: 0, toCompose: [], unknown: 0 }
  for (const report of bounce.reports) {
    const owner = await ownerOf(database, report.address, bounce.messageIds, trusted)
    if (!owner) {
      taken.unknown += 1
      continue
    }
    const { organisationId, personId, messageId } = owner
    await database.withOrganisationSql(organisationId, async (scope) => {
      await scope.rows('SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE', [organisationId, personId])
      const [earlier] = await scope.rows<{ soft: number }>(
        `SELECT count(*)::int AS soft FROM bounce WHERE organisation_id = $1 AND person_id = $2 AND kind = 'soft' AND lower(address) = lower($3)
           AND received_at > $4::timestamptz - make_interval(days => ${SOFT_DAYS})`,
        [organisationId, personId, report.address, now],
      )
      const givesUp = report.kind === 'hard' || (earlier?.soft ?? 0) + 1 >= SOFT_MOST
      const made = await scope.run(
        `INSERT INTO bounce (organisation_id, id, source_key, person_id, message_id, address, kind, status_code, diagnostic, suppressed, received_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) ON CONFLICT (organisation_id, source_key) DO NOTHING`,
        [
          organisationId,
          newId(),
          `${bounce.sourceKey} ${report.address.toLowerCase()}`.slice(0, 900),
          personId,
          messageId,
          report.address.slice(0, 254),
          report.kind,
          report.statusCode,
          report.diagnostic,
          givesUp,
          now,
        ],
      )
      if (made === 0) return
      taken.entries += 1
      if (!givesUp || !(await suppress(scope, owner, report.address, `${report.statusCode} ${report.diagnostic}`.trim()))) return
      taken.suppressed += 1
      for (const warehouseId of await freeReminders(scope, personId, messageId)) taken.toCompose.push({ organisationId, warehouseId })
    })
  }
  return taken
}
