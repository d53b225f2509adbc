import type { SignInChange } from '@tapewarden/messaging'
import { newId } from '@tapewarden/platform'
import type { Changing } from '../use/work.js'

/** Later than this it is no news, and what it warns of has happened. */
const LASTS = '3 days'

/** ASVS 5.0, 6.3.7: whoever can have mail hears of it when a way of signing in to their account changes; in the same transaction. */
export async function tellSignInChange(changing: Changing, personId: string, change: SignInChange): Promise<void> {
  const { who, now } = changing
  const facts = { kind: 'sign_in_changed', change, at: now.toISOString(), by: who.personId === personId ? '' : who.name }
  await changing.run(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     SELECT $1, $3::uuid, p.id, NULL, ($4::timestamptz AT TIME ZONE 'UTC')::date, 'urgent', 'sign-in ' || $3::uuid, 'pending', $4, $4::timestamptz + $5::interval, $6, $4
     FROM person p WHERE p.organisation_id = $1 AND p.id = $2 AND p.email IS NOT NULL AND p.disabled_at IS NULL`,
    [personId, newId(), now, LASTS, JSON.stringify({ v: 1, kind: facts.kind, facts })],
  )
}
