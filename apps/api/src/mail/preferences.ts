import { nextDigestAt, type WarehouseHours } from '@tapewarden/messaging'
import { instantToLocal } from '@tapewarden/scheduling'
import type { MailPreferences, RouteBody, Routes } from '@tapewarden/shared'
import { assignments, type Columns, requireVersion } from '../use/patch.js'
import type { Changing, Reading } from '../use/work.js'

type PersonRow = Omit<MailPreferences, 'next' | 'quiet'> &
  Record<string, unknown> & { quietFrom: string | null; quietTo: string | null; disabled: boolean }

const PERSON = `SELECT p.id AS "personId", p.name, p.email, p.reminder_mail AS "reminderMail",
    CASE WHEN lower(p.email) = lower(p.mail_refused_address) THEN p.mail_refused_address END AS "refusedAddress",
    CASE WHEN lower(p.email) = lower(p.mail_refused_address) THEN p.mail_refused_reason END AS "refusedReason",
    p.unwanted_kinds AS "unwantedKinds", p.lead_days AS "leadDays", p.language, p.units, p.digest_weekday AS "digestWeekday",
    to_char(p.digest_time, 'HH24:MI') AS "digestTime", to_char(p.quiet_from, 'HH24:MI') AS "quietFrom", to_char(p.quiet_to, 'HH24:MI') AS "quietTo",
    p.disabled_at IS NOT NULL AS disabled, p.version
  FROM person p WHERE p.organisation_id = $1 AND p.id = $2`

interface HallRow extends WarehouseHours, Record<string, unknown> {
  id: string
  name: string
  lastDigestDay: string | null
}

/** The warehouses for whose reminders a person is named, or which they serve. */
const HALLS = `SELECT w.id, w.name, w.zone,
    (SELECT coalesce(jsonb_agg(jsonb_build_object('weekday', s.weekday, 'starts', s.starts, 'ends', s.ends)), '[]')
     FROM shift s WHERE s.organisation_id = $1 AND s.warehouse_id = w.id) AS shifts,
    (SELECT coalesce(jsonb_agg(jsonb_build_object('from', c.from_date, 'to', c.to_date)), '[]')
     FROM closure c WHERE c.organisation_id = $1 AND c.warehouse_id = w.id) AS closures,
    (SELECT max(m.local_day) FROM message m WHERE m.organisation_id = $1 AND m.warehouse_id = w.id AND m.person_id = $2 AND m.class = 'digest'
       AND m.state NOT IN ('failed', 'expired')) AS "lastDigestDay"
  FROM warehouse w WHERE w.organisation_id = $1 AND ($2 IN (w.first_person_id, w.second_person_id)
    OR EXISTS (SELECT 1 FROM person_warehouse x WHERE x.organisation_id = $1 AND x.warehouse_id = w.id AND x.person_id = $2))
  ORDER BY w.name, w.id`

export async function mailPreferences(reading: Reading, personId: string): Promise<MailPreferences> {
  const { quietFrom, quietTo, disabled, ...person } = await reading.one<PersonRow>('person', PERSON, [personId])
  const halls = await reading.rows<HallRow>(HALLS, [personId])
  const { digestWeekday, digestTime } = person
  const wishes = { digestWeekday, digestTime, quietFrom, quietTo }
  const goesNowhere = disabled || person.email === null || person.refusedAddress !== null || !person.reminderMail
  const next = halls.map((hall) => {
    const today = instantToLocal(hall.zone, reading.now.getTime()).slice(0, 10)
    const at = goesNowhere ? null : nextDigestAt(hall, wishes, reading.now, { sayOn: today, lastDigestDay: hall.lastDigestDay })
    return {
      warehouseId: hall.id,
      warehouseName: hall.name,
      zone: hall.zone,
      at: at?.toISOString() ?? null,
      local: at ? instantToLocal(hall.zone, at.getTime()).slice(0, 16) : null,
    }
  })
  return { ...person, quiet: quietFrom === null || quietTo === null ? null : { from: quietFrom, to: quietTo }, next }
}

const COLUMNS: Columns = {
  reminderMail: 'reminder_mail',
  unwantedKinds: 'unwanted_kinds',
  leadDays: 'lead_days',
  language: 'language',
  units: 'units',
  digestWeekday: 'digest_weekday',
  digestTime: 'digest_time',
  quietFrom: 'quiet_from',
  quietTo: 'quiet_to',
}

/** Lead and reminder mail decide when and to whom the next pass says things, so the person's warehouses are planned anew. */
async function planAnew(changing: Changing, personId: string, before: MailPreferences, after: MailPreferences): Promise<void> {
  if (before.leadDays === after.leadDays && before.reminderMail === after.reminderMail) return
  const halls = await changing.rows<{ id: string }>(
    `SELECT id FROM warehouse WHERE organisation_id = $1 AND $2 IN (first_person_id, second_person_id)`,
    [personId],
  )
  changing.datesMayMove(...halls.map(({ id }) => id))
}

export async function patchMailPreferences(
  changing: Changing,
  personId: string,
  body: RouteBody<Routes['patchMyMail']>,
): Promise<MailPreferences> {
  await changing.rows(`SELECT id FROM person WHERE organisation_id = $1 AND id = $2 FOR UPDATE`, [personId])
  const before = await mailPreferences(changing, personId)
  requireVersion(body.version, before.version)
  const { quiet, unwantedKinds, ...plain } = body
  const sent = {
    ...plain,
    ...(unwantedKinds ? { unwantedKinds: [...new Set(unwantedKinds)] } : {}),
    ...(quiet === undefined ? {} : { quietFrom: quiet?.from ?? null, quietTo: quiet?.to ?? null }),
  }
  const { set, values } = assignments(COLUMNS, sent, 3)
  if (body.arrivesAgain) set.push('mail_refused_address = NULL', 'mail_refused_reason = NULL')
  await changing.run(`UPDATE person SET ${[...set, 'version = version + 1'].join(', ')} WHERE organisation_id = $1 AND id = $2`, [
    personId,
    ...values,
  ])
  const after = await mailPreferences(changing, personId)
  await planAnew(changing, personId, before, after)
  changing.note({ action: 'change mail preferences', subjectKind: 'person', subjectId: personId, before, after })
  return after
}
