import { ConflictError, InvalidError, newId } from '@tapewarden/platform'
import type { RouteResult, Routes } from '@tapewarden/shared'
import { localDateOf } from '../use/local-day.js'
import { requireWarehouse } from '../use/reach.js'
import type { Changing } from '../use/work.js'
import { testMailsOf } from './steps.js'

/** Nobody needs two at once; an impatient finger makes ten. */
const PAUSE_SECONDS = 60

interface Hall extends Record<string, unknown> {
  name: string
  zone: string
}

/** To both people named, through the same outbox, queue and mail server as every reminder. */
export async function sendTestMails(changing: Changing, warehouseId: string): Promise<RouteResult<Routes['sendTestMails']>> {
  requireWarehouse(changing.who, warehouseId)
  const hall = await changing.one<Hall>('warehouse', `SELECT name, zone FROM warehouse WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [
    warehouseId,
  ])
  const people = await changing.rows<{ id: string }>(
    `SELECT p.id FROM person p JOIN warehouse w ON w.organisation_id = $1 AND w.id = $2 AND p.id IN (w.first_person_id, w.second_person_id)
     WHERE p.organisation_id = $1 AND p.email IS NOT NULL AND p.disabled_at IS NULL`,
    [warehouseId],
  )
  if (people.length === 0)
    throw new InvalidError('NOBODY_NAMED', 'Nobody with a mail address is named for the reminders of this warehouse yet.')
  const last = await changing.maybeOne(
    `SELECT id FROM message WHERE organisation_id = $1 AND warehouse_id = $2 AND class_key LIKE 'test %' AND created_at > $3::timestamptz - make_interval(secs => $4)`,
    [warehouseId, changing.now, PAUSE_SECONDS],
  )
  if (last) throw new ConflictError('JUST_SENT', 'A test mail was sent within the last minute. Give it a moment.')
  const content = { v: 1, kind: 'test_mail', facts: { kind: 'test_mail', warehouse: hall.name, asker: changing.who.name } }
  await changing.run(
    `INSERT INTO message (organisation_id, id, person_id, warehouse_id, local_day, class, class_key, state, send_after, expires_at, content, created_at)
     SELECT $1, r.id, r.person, $3, $4, 'urgent', 'test ' || r.id, 'pending', $5, $5::timestamptz + interval '2 hours', $6, $5
     FROM jsonb_to_recordset($2::jsonb) AS r(id uuid, person uuid)`,
    [
      JSON.stringify(people.map(({ id }) => ({ id: newId(), person: id }))),
      warehouseId,
      localDateOf(changing.now, hall.zone),
      changing.now,
      JSON.stringify(content),
    ],
  )
  changing.note({ action: 'send test mails', subjectKind: 'warehouse', subjectId: warehouseId, after: { people: people.length } })
  return { items: await testMailsOf(changing, warehouseId) }
}
