import pg from 'pg'

/** Local dates stay text ('2026-03-02') and 64-bit counts become numbers; neither is ever shifted by a zone. */
const PARSERS: Readonly<Record<number, (text: string) => unknown>> = { 1082: (text) => text, 20: Number, 1700: Number }
const types = {
  getTypeParser: ((oid: number, format?: 'text') => PARSERS[oid] ?? pg.types.getTypeParser(oid, format)) as typeof pg.types.getTypeParser,
}

export interface ConnectionSettings {
  url: string
  /** Shown in pg_stat_activity. */
  applicationName: string
  /** Most connections of this process. */
  most?: number
}

export function createPool({ url, applicationName, most = 10 }: ConnectionSettings): pg.Pool {
  const pool = new pg.Pool({
    connectionString: url,
    application_name: applicationName,
    max: most,
    types,
    connectionTimeoutMillis: 10_000,
    idleTimeoutMillis: 30_000,
  })
  // An idle connection that drops says so here; the next query opens another.
  pool.on('error', () => undefined)
  // One that drops while it is in use says so through its query, or its next one. Without a listener of ours the
  // driver's own event would end the whole process between two queries.
  pool.on('connect', (client) => void client.on('error', () => undefined))
  return pool
}
