import type { RouteResult, Routes } from '@tapewarden/shared'
import type { Reading } from '../use/work.js'
import { type DatabaseFacts, type Installation, notSafeOf } from './not-safe.js'

/** pg_stat_ssl shows a role its own connection. A connection through a socket has no address. */
const FACTS = `SELECT r.rolsuper OR r.rolbypassrls OR EXISTS (SELECT 1 FROM pg_class c WHERE c.relowner = r.oid AND c.relkind IN ('r', 'p') AND c.relnamespace = 'public'::regnamespace) AS "roleMayBypass",
    inet_client_addr() IS NOT NULL AND NOT (inet_client_addr() <<= '127.0.0.0/8' OR inet_client_addr() = '::1') AND NOT coalesce((SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()), false) AS "crossesNetworkPlain"
  FROM pg_roles r WHERE r.rolname = current_user AND $1::uuid IS NOT NULL`

type Facts = DatabaseFacts & Record<string, unknown>

/** What of this installation's set-up is known to be unsafe. */
export async function installation(reading: Reading, setUp: Installation): Promise<RouteResult<Routes['getInstallation']>> {
  return { notSafe: notSafeOf(setUp, await reading.one<Facts>('database role', FACTS, [])) }
}
