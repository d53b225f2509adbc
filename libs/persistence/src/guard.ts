import type { Pool } from 'pg'

export class UnguardedRoleError extends Error {}

interface Rights {
  role: string
  superuser: boolean
  bypasses: boolean
  owns: string[] | null
}

/**
 * Refuses to start as a role for which row-level security means nothing.
 * @throws UnguardedRoleError for a superuser, a role with BYPASSRLS, or one that owns (or is a member of the owner of) a table
 */
export async function refuseUnguardedRole(pool: Pool): Promise<void> {
  const { rows } = await pool.query<Rights>(`
    SELECT current_user AS role, rolsuper AS superuser, rolbypassrls AS bypasses,
      (SELECT array_agg(relname::text) FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') AND pg_has_role(current_user, relowner, 'MEMBER')) AS owns
    FROM pg_roles WHERE rolname = current_user`)
  const rights = rows[0]
  if (!rights) throw new UnguardedRoleError('The database does not say who we are.')
  const why = rights.superuser
    ? 'is a superuser'
    : rights.bypasses
      ? 'bypasses row-level security'
      : rights.owns
        ? `owns tables (${rights.owns.slice(0, 3).join(', ')} …)`
        : null
  if (why)
    throw new UnguardedRoleError(
      `DATABASE_URL signs in as ${rights.role}, which ${why}: organisations would not be kept apart. Sign in as tapewarden_app; the migration sets its password from DATABASE_APP_PASSWORD.`,
    )
}
