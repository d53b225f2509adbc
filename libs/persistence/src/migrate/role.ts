import { type Client, escapeIdentifier, escapeLiteral } from 'pg'

export const APP_ROLE = 'tapewarden_app'

/**
 * Lets the application sign in as tapewarden_app with this password. Roles belong to the whole
 * server: every database of it shares the password.
 */
export async function setAppPassword(client: Client, password: string): Promise<void> {
  if (password.length < 12) throw new Error('DATABASE_APP_PASSWORD must have at least 12 characters.')
  await retryConcurrent(() => client.query(`ALTER ROLE ${APP_ROLE} LOGIN PASSWORD ${escapeLiteral(password)}`))
  await grantDatabase(client)
}

/**
 * Rights on the database itself, which a copy of a template does not inherit. CREATE is for the queue's library:
 * it says CREATE SCHEMA IF NOT EXISTS at each start; a schema of its own gives the application nothing of ours.
 */
export async function grantDatabase(client: Client): Promise<void> {
  const { rows } = await client.query<{ name: string }>('SELECT current_database() AS name')
  await retryConcurrent(() =>
    client.query(`GRANT CONNECT, TEMPORARY, CREATE ON DATABASE ${escapeIdentifier(rows[0]?.name ?? '')} TO ${APP_ROLE}`),
  )
}

/** Two databases of one server migrated at once both write the same catalogue row. */
async function retryConcurrent(statement: () => Promise<unknown>): Promise<void> {
  for (let attempt = 1; ; attempt++) {
    try {
      await statement()
      return
    } catch (error) {
      if (attempt === 5 || !/tuple concurrently updated/.test((error as Error).message)) throw error
    }
  }
}
