/** Sessions that outlive what a fuzzer does to them: whoever was disabled, given another role or signed out is put right and signed in anew. */
import { createHash, randomBytes } from 'node:crypto'
import { newId } from '@tapewarden/platform'
import type { TestApi } from '../support/api.js'
import type { ApiOrganisation } from '../support/api-organisation.js'

export type FuzzRole = 'administrator' | 'manager' | 'technician' | 'instructed'
export const ROLES: readonly FuzzRole[] = ['administrator', 'manager', 'technician', 'instructed']

/** @returns a cookie */
export async function freshCookie(api: TestApi, us: ApiOrganisation, role: FuzzRole): Promise<string> {
  const token = randomBytes(32).toString('base64url')
  await api.database.withOrganisationSql(us.organisationId, async (scope) => {
    await scope.run('UPDATE person SET disabled_at = NULL, role = $3 WHERE organisation_id = $1 AND id = $2', [
      us.organisationId,
      us.people[role],
      role,
    ])
    await scope.run(
      `INSERT INTO session (organisation_id, id, person_id, token_hash, created_at, last_seen_at, expires_at, user_agent)
       VALUES ($1, $2, $3, $4, clock_timestamp(), clock_timestamp(), clock_timestamp() + interval '1 day', 'attack')`,
      [us.organisationId, newId(), us.people[role], createHash('sha256').update(token).digest()],
    )
  })
  return `tapewarden_session=${token}`
}
