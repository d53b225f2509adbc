import type { Pool } from 'pg'

/** Sign-in and sessions must find the organisation before they can name it; these are all that may. */
export interface FoundPerson {
  organisationId: string
  personId: string
  passwordHash: string | null
  disabled: boolean
}

export async function findPersonByEmail(pool: Pool, email: string): Promise<FoundPerson | null> {
  const { rows } = await pool.query<FoundPerson>(
    `SELECT organisation_id AS "organisationId", person_id AS "personId", password_hash AS "passwordHash", disabled FROM directory_person_by_email($1)`,
    [email],
  )
  return rows[0] ?? null
}

export interface FoundSession {
  organisationId: string
  sessionId: string
  personId: string
}

export async function findSession(pool: Pool, tokenHash: Buffer): Promise<FoundSession | null> {
  const { rows } = await pool.query<FoundSession>(
    `SELECT organisation_id AS "organisationId", session_id AS "sessionId", person_id AS "personId" FROM directory_session($1)`,
    [tokenHash],
  )
  return rows[0] ?? null
}

export interface FoundTablet {
  organisationId: string
  tabletId: string
}

/** A shared tablet that has not been ended. */
export async function findTablet(pool: Pool, secretHash: Buffer): Promise<FoundTablet | null> {
  const { rows } = await pool.query<FoundTablet>(
    `SELECT organisation_id AS "organisationId", tablet_id AS "tabletId" FROM directory_tablet($1)`,
    [secretHash],
  )
  return rows[0] ?? null
}

export interface FoundFeed {
  organisationId: string
  feedId: string
}

/** A live calendar address; null for one that never was or has been ended. */
export async function findCalendarFeed(pool: Pool, tokenHash: Buffer): Promise<FoundFeed | null> {
  const { rows } = await pool.query<FoundFeed>(
    `SELECT organisation_id AS "organisationId", feed_id AS "feedId" FROM directory_calendar_feed($1)`,
    [tokenHash],
  )
  return rows[0] ?? null
}

export interface FoundMessage {
  organisationId: string
  personId: string
  toAddress: string | null
}

export async function findMessage(pool: Pool, messageId: string): Promise<FoundMessage | null> {
  const { rows } = await pool.query<FoundMessage>(
    `SELECT organisation_id AS "organisationId", person_id AS "personId", to_address AS "toAddress" FROM directory_message($1)`,
    [messageId],
  )
  return rows[0] ?? null
}

export interface FoundAccessKey {
  organisationId: string
  accessKeyId: string
}

/** A key that is neither revoked nor past its end. */
export async function findAccessKey(pool: Pool, secretHash: Buffer): Promise<FoundAccessKey | null> {
  const { rows } = await pool.query<FoundAccessKey>(
    `SELECT organisation_id AS "organisationId", access_key_id AS "accessKeyId" FROM directory_access_key($1)`,
    [secretHash],
  )
  return rows[0] ?? null
}

export interface FoundPasskey {
  organisationId: string
  passkeyId: string
  personId: string
}

/** Whose passkey this is, by the name that the browser gives it. */
export async function findPasskey(pool: Pool, credentialId: string): Promise<FoundPasskey | null> {
  const { rows } = await pool.query<FoundPasskey>(
    `SELECT organisation_id AS "organisationId", passkey_id AS "passkeyId", person_id AS "personId" FROM directory_passkey($1)`,
    [credentialId],
  )
  return rows[0] ?? null
}
